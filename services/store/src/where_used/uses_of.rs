//! The uses that answer a question, without identity.

mod scope;

pub(super) use scope::Scope;

use super::{Class, Question};
use crate::database::{Reading, StoreError};
use crate::schema::{cases, scans, units, uses};
use diesel::prelude::*;
use diesel::sql_types::{Array, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::{CaseStatus, Disposition};
use std::collections::{HashMap, HashSet};
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
    /// Whether the lot on its record has a number.
    pub numbered: bool,
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

#[derive(QueryableByName)]
#[diesel(table_name = cases)]
struct CaseRow {
    id: Uuid,
    procedure_name: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    scheduled_for: Timestamp,
    status: String,
    patient_id: Uuid,
}

/// Finds the uses that answer a question, without identity.
///
/// # Errors
/// [`StoreError`].
pub async fn uses_of(reading: &mut Reading, question: &Question) -> Result<UsesFound, StoreError> {
    find_uses(reading.connection(), question).await
}

/// The uses, inside a transaction.
pub(crate) async fn find_uses(
    connection: &mut AsyncPgConnection,
    question: &Question,
) -> Result<UsesFound, StoreError> {
    Ok(find(connection, question).await?.0)
}

/// The uses, and the scope they were found in; none when there is no such product.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    question: &Question,
) -> Result<(UsesFound, Option<Scope>), StoreError> {
    let Some(scope) = Scope::of(connection, question).await? else {
        return Ok((UsesFound::default(), None));
    };
    let rows = if question.serial.is_some() {
        by_piece(connection, question, &scope).await?
    } else {
        let mut rows = by_lot(connection, &scope).await?;
        if question.lot.is_some() {
            rows.extend(by_record_of_piece(connection, &scope).await?);
        }
        rows
    };
    let mut found = UsesFound {
        product: Some(scope.product.clone()),
        unit: scope.unit.clone(),
        ..UsesFound::default()
    };
    let mut standing = Vec::new();
    for row in rows {
        match scope.class_of(question, row.lot_id, row.unit_id) {
            None => {}
            Some(_) if row.struck_at.to_jiff().is_some() => found.struck += 1,
            Some(class) => standing.push((row, class)),
        }
    }
    let cases = cases_of(connection, &standing).await?;
    for (row, class) in standing {
        let case = cases.get(&row.case_id).ok_or(StoreError::Unfit)?;
        found.items.push(ItemUsed::of(&row, case, class)?);
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

/// The standing uses of these lots and scans, and one line for each further case that was reached
/// without a scan, by its first use if it has one.
pub(super) async fn by_scans(
    connection: &mut AsyncPgConnection,
    pairs: &[(Uuid, Uuid)],
    further: &[Uuid],
) -> Result<UsesFound, StoreError> {
    let (lots, scans): (Vec<Uuid>, Vec<Uuid>) = pairs.iter().copied().unzip();
    let mut rows: Vec<UseRow> = uses::table
        .filter(uses::lot_id.eq_any(&lots))
        .filter(uses::scan_id.eq_any(scans))
        .select(UseRow::as_select())
        .load(connection)
        .await?;
    // A case's uses are found by its scans: uses are keyed by lot.
    let first: Vec<UseRow> = uses::table
        .inner_join(
            scans::table.on(scans::id
                .eq(uses::scan_id)
                .and(scans::lot_id.eq(uses::lot_id.nullable()))),
        )
        .filter(scans::case_id.eq_any(further))
        .filter(uses::struck_at.is_null())
        .distinct_on(uses::case_id)
        .order((uses::case_id, uses::scan_id))
        .select(UseRow::as_select())
        .load(connection)
        .await?;
    rows.extend(first);
    let mut found = UsesFound::default();
    let mut standing = Vec::new();
    for row in rows {
        if row.struck_at.to_jiff().is_some() {
            found.struck += 1;
        } else {
            standing.push((row, Class::Affected));
        }
    }
    let cases = cases_of(connection, &standing).await?;
    for (row, class) in standing {
        let case = cases.get(&row.case_id).ok_or(StoreError::Unfit)?;
        found.items.push(ItemUsed::of(&row, case, class)?);
    }
    found.items.sort_by_key(|item| item.scan);
    Ok(found)
}

/// Uses recorded under the lots in question.
async fn by_lot(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<UseRow>, StoreError> {
    let rows = uses::table
        .filter(uses::lot_id.eq_any(scope.all_lots()))
        .select(UseRow::as_select())
        .load(connection)
        .await?;
    Ok(rows)
}

/// Uses of the piece asked for under whatever lot, and those that name no piece and can be of it.
/// Two queries: no index serves both conditions, and together they would read every use of a lot.
async fn by_piece(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<UseRow>, StoreError> {
    let mut rows: Vec<UseRow> = uses::table
        .filter(uses::lot_id.eq_any(scope.possible_lots(question)))
        .filter(uses::unit_id.is_null())
        .select(UseRow::as_select())
        .load(connection)
        .await?;
    if let Some(piece) = scope.piece() {
        let of_piece = uses::table
            .filter(uses::unit_id.eq(piece))
            .select(UseRow::as_select());
        rows.extend(of_piece.load::<UseRow>(connection).await?);
    }
    Ok(rows)
}

/// Uses recorded under another lot than the one on the record of their piece.
async fn by_record_of_piece(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<UseRow>, StoreError> {
    let rows = units::table
        .inner_join(uses::table.on(uses::unit_id.eq(units::id.nullable())))
        .filter(units::lot_id.eq_any(scope.named_lots()))
        .filter(uses::lot_id.ne_all(scope.all_lots()))
        .select(UseRow::as_select())
        .load(connection)
        .await?;
    Ok(rows)
}

/// The cases of uses, by id.
///
/// Each is looked up by its key, behind `OFFSET 0`: left to a join, PostgreSQL reads every case of
/// the facility rather than the few hundred of a lot.
async fn cases_of(
    connection: &mut AsyncPgConnection,
    uses: &[(UseRow, Class)],
) -> Result<HashMap<Uuid, CaseRow>, StoreError> {
    let ids: HashSet<Uuid> = uses.iter().map(|(row, _)| row.case_id).collect();
    let rows: Vec<CaseRow> = diesel::sql_query(
        "SELECT c.id, c.procedure_name, c.scheduled_for, c.status, c.patient_id
         FROM unnest($1) AS q (id), LATERAL (SELECT * FROM cases WHERE id = q.id OFFSET 0) c",
    )
    .bind::<Array<SqlUuid>, _>(ids.into_iter().collect::<Vec<_>>())
    .load(connection)
    .await?;
    Ok(rows.into_iter().map(|row| (row.id, row)).collect())
}

impl ItemUsed {
    fn of(row: &UseRow, case: &CaseRow, class: Class) -> Result<Self, StoreError> {
        Ok(Self {
            scan: row.scan_id,
            case: row.case_id,
            procedure: case.procedure_name.clone(),
            scheduled_for: case.scheduled_for,
            status: case.status.parse().map_err(|_| StoreError::Unfit)?,
            patient: case.patient_id,
            lot: row.lot_id,
            unit: row.unit_id,
            disposition: row.disposition.parse().map_err(|_| StoreError::Unfit)?,
            taken_at: row.taken_at,
            class,
        })
    }
}
