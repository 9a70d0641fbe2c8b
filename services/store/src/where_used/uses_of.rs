//! The uses that answer a question, without identity.

mod scope;

pub(super) use scope::Scope;

use super::{Class, Question};
use crate::database::{Reading, StoreError};
use crate::schema::{cases, unit_claims, units, uses};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::{CaseStatus, Disposition};
use uuid::Uuid;

/// The product a question names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProductFound {
    /// The product.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Who makes it.
    pub maker: String,
    /// The maker's model.
    pub model: String,
}

/// A lot within a question.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LotFound {
    /// The lot.
    pub id: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    pub number: Option<String>,
    /// The last usable day on record.
    pub expires_on: Option<Date>,
    /// How it relates to the question.
    pub class: Class,
}

/// The piece a question names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnitFound {
    /// The piece.
    pub id: Uuid,
    /// The lot on its record.
    pub lot: Uuid,
    /// Where it was put.
    pub location: Option<Uuid>,
}

/// A use that answers a question.
#[derive(Clone, Debug)]
pub struct ItemUsed {
    /// The scan that put it on the case.
    pub scan: Uuid,
    /// The case.
    pub case: Uuid,
    /// What was done.
    pub procedure: String,
    /// When the case was planned.
    pub scheduled_for: Timestamp,
    /// The state of the case.
    pub status: CaseStatus,
    /// The patient, by id.
    pub patient: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The serialised piece.
    pub unit: Option<Uuid>,
    /// What became of it.
    pub disposition: Disposition,
    /// When it was put on the case.
    pub taken_at: Timestamp,
    /// How it relates to the question.
    pub class: Class,
}

/// The uses that answer a question.
#[derive(Clone, Debug, Default)]
pub struct UsesFound {
    /// The product; none when no identifier of any product is the one asked for.
    pub product: Option<ProductFound>,
    /// The lots within the question.
    pub lots: Vec<LotFound>,
    /// The piece asked for, when it is on record.
    pub unit: Option<UnitFound>,
    /// The uses that stand, oldest first.
    pub items: Vec<ItemUsed>,
    /// Uses left out because their scans were taken back.
    pub struck: u64,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = uses)]
struct UseRow {
    scan_id: Uuid,
    case_id: Uuid,
    lot_id: Uuid,
    unit_id: Option<Uuid>,
    disposition: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    taken_at: Timestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    struck_at: jiff_diesel::NullableTimestamp,
}

type Row = (UseRow, String, jiff_diesel::Timestamp, String, Uuid);

/// The columns of [`Row`].
macro_rules! columns {
    () => {
        (
            UseRow::as_select(),
            cases::procedure_name,
            cases::scheduled_for,
            cases::status,
            cases::patient_id,
        )
    };
}

/// Finds the uses that answer a question, without identity.
///
/// # Errors
/// [`StoreError`].
pub async fn uses_of(reading: &mut Reading, question: &Question) -> Result<UsesFound, StoreError> {
    Ok(find(reading.connection(), question).await?.0)
}

/// The uses, and the scope they were found in; none when there is no such product.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    question: &Question,
) -> Result<(UsesFound, Option<Scope>), StoreError> {
    let Some(scope) = Scope::of(connection, question).await? else {
        return Ok((UsesFound::default(), None));
    };
    let mut rows = by_lot(connection, question, &scope).await?;
    if question.lot.is_some() {
        rows.extend(by_record_of_piece(connection, &scope).await?);
    }
    let mut found = UsesFound {
        product: Some(scope.product.clone()),
        unit: scope.unit.clone(),
        ..UsesFound::default()
    };
    for row in rows {
        let class = scope.class_of(question, row.0.lot_id, row.0.unit_id);
        match class {
            None => {}
            Some(_) if row.0.struck_at.to_jiff().is_some() => found.struck += 1,
            Some(class) => found.items.push(ItemUsed::of(row, class)?),
        }
    }
    found.items.sort_by_key(|item| item.scan);
    let in_question = |lot: &&LotFound| {
        lot.class == Class::Affected
            || scope.class_of(question, lot.id, None).is_some()
            || found.items.iter().any(|item| item.lot == lot.id)
    };
    found.lots = scope.lots.iter().filter(in_question).cloned().collect();
    Ok((found, Some(scope)))
}

/// Uses recorded under the lots in question.
async fn by_lot(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<Row>, StoreError> {
    let lots: Vec<Uuid> = scope.lots.iter().map(|lot| lot.id).collect();
    let query = uses::table
        .inner_join(cases::table.on(cases::id.eq(uses::case_id)))
        .filter(uses::lot_id.eq_any(lots))
        .select(columns!());
    let rows = if question.serial.is_none() {
        query.load(connection).await?
    } else {
        let unit = scope.unit.as_ref().map(|unit| unit.id);
        let piece = uses::unit_id
            .is_null()
            .or(uses::unit_id.is_not_distinct_from(unit));
        query.filter(piece).load(connection).await?
    };
    Ok(rows)
}

/// Uses recorded under another lot than the one on the record of their piece.
async fn by_record_of_piece(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<Row>, StoreError> {
    let lots: Vec<Uuid> = scope.lots.iter().map(|lot| lot.id).collect();
    let rows = units::table
        .inner_join(unit_claims::table.on(unit_claims::unit_id.eq(units::id)))
        .inner_join(uses::table.on(uses::scan_id.eq(unit_claims::scan_id)))
        .inner_join(cases::table.on(cases::id.eq(uses::case_id)))
        .filter(units::lot_id.eq_any(scope.named_lots()))
        .filter(uses::lot_id.ne_all(lots))
        .select(columns!())
        .load(connection)
        .await?;
    Ok(rows)
}

impl ItemUsed {
    fn of(row: Row, class: Class) -> Result<Self, StoreError> {
        let (row, procedure, scheduled_for, status, patient) = row;
        Ok(Self {
            scan: row.scan_id,
            case: row.case_id,
            procedure,
            scheduled_for: scheduled_for.to_jiff(),
            status: status.parse().map_err(|_| StoreError::Unfit)?,
            patient,
            lot: row.lot_id,
            unit: row.unit_id,
            disposition: row.disposition.parse().map_err(|_| StoreError::Unfit)?,
            taken_at: row.taken_at,
            class,
        })
    }
}
