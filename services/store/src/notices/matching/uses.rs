//! The uses that a notice hits.

use super::{ItemMatched, Row, Scope};
use crate::database::StoreError;
use crate::recorder::statement::statement;
use diesel::Queryable;
use diesel::sql_types::{Array, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_domain::notices::{MatchClass, Witness};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

macro_rules! uses_statement {
    ($(#[$meta:meta])* $name:ident($($field:ident: $rust:ty => $sql:ty),*), $from:literal) => {
        statement! {
            $(#[$meta])*
            $name($($field: $rust => $sql),*)
                -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Nullable<SqlUuid>, Text, Timestamptz,
                    Nullable<Timestamptz>),
            concat!(
                "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.other_lot_id, s.disposition,
                    s.taken_at, s.struck_at FROM ",
                $from,
                " s"
            )
        }
    };
}

// Each look-up stands behind `OFFSET 0`, so that it goes by its key.
uses_statement! {
    /// The uses recorded under lots.
    OfLots(lots: Vec<Uuid> => Array<SqlUuid>),
    "unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE lot_id = q.id OFFSET 0)"
}
uses_statement! {
    /// The uses of pieces whose record names one of the lots, recorded under another one.
    OfRecords(lots: Vec<Uuid> => Array<SqlUuid>),
    "unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE other_lot_id = q.id OFFSET 0)"
}
uses_statement! {
    /// The uses of every piece of products.
    OfPieces(products: Vec<Uuid> => Array<SqlUuid>),
    "unnest($1) AS q (id), LATERAL (SELECT id FROM units WHERE product_id = q.id OFFSET 0) p,
     LATERAL (SELECT * FROM uses WHERE unit_id = p.id OFFSET 0)"
}
uses_statement! {
    /// The uses on a patient's cases.
    OfPatient(patient: Uuid => SqlUuid),
    "(SELECT id FROM cases WHERE patient_id = $1 OFFSET 0) p,
     LATERAL (SELECT id, lot_id FROM scans WHERE case_id = p.id AND lot_id IS NOT NULL OFFSET 0) n,
     LATERAL (SELECT * FROM uses WHERE lot_id = n.lot_id AND scan_id = n.id OFFSET 0)"
}
statement! {
    /// Cases, asked for in the order of their ids.
    Cases(cases: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text, Timestamptz, Text, SqlUuid),
    "SELECT id, procedure_name, scheduled_for, status, patient_id FROM cases WHERE id = ANY($1)"
}
statement! {
    /// The serials of the pieces whose records name lots, from the index by lot alone.
    Serials(lots: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text),
    "SELECT id, serial FROM units WHERE lot_id = ANY($1)"
}

#[derive(Queryable)]
struct UseRow {
    scan: Uuid,
    case: Uuid,
    product: Uuid,
    lot: Uuid,
    unit: Option<Uuid>,
    other_lot: Option<Uuid>,
    disposition: String,
    taken_at: jiff_diesel::Timestamp,
    struck_at: jiff_diesel::NullableTimestamp,
}

impl UseRow {
    /// The lot on the record of the piece, which may not be the one the use was recorded under.
    fn lot_on_record(&self) -> Uuid {
        self.other_lot.unwrap_or(self.lot)
    }
}

struct CaseOfUse {
    procedure: String,
    scheduled_for: Timestamp,
    status: CaseStatus,
    patient: Uuid,
}

/// Which of the uses that are hit are asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::notices) enum Asked {
    /// All of them, with their serials.
    All,
    /// All of them; serials are read only where they decide.
    Counts,
    /// Those of a lot.
    Lot(Uuid),
    /// Those of a patient.
    Patient(Uuid),
}

/// The uses that stand, oldest first, and those whose scans were taken back, by scan.
///
/// Looked at are the uses recorded under a lot that is hit, those of a piece whose record names
/// such a lot, and where serials are named those of every piece and of none.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
) -> Result<(Vec<ItemMatched>, BTreeMap<Uuid, ItemMatched>), StoreError> {
    let mut rows = candidates(connection, scope, asked).await?;
    rows.sort_unstable_by_key(|row| row.scan);
    rows.dedup_by_key(|row| row.scan);
    let decided = decided(scope, asked);
    let cases = cases(connection, &rows).await?;
    let open = rows.iter().filter(|row| !decided.contains(&row.lot));
    let serials = serials(connection, open).await?;
    let (mut items, mut struck) = (Vec::with_capacity(rows.len()), BTreeMap::new());
    for row in rows {
        let case = cases.get(&row.case).ok_or(StoreError::Unfit)?;
        let serial = row.unit.and_then(|unit| serials.get(&unit));
        let class = if decided.contains(&row.lot) {
            Some(MatchClass::Affected)
        } else {
            let piece = row.unit.zip(serial);
            scope.class(Row {
                product: row.product,
                lot: row.lot,
                unit: piece.map(|(id, serial)| (id, serial.as_str(), row.lot_on_record())),
            })
        };
        let Some(class) = class else {
            continue;
        };
        let was_struck = row.struck_at.to_jiff().is_some();
        let item = ItemMatched {
            class,
            witness: Witness::Scan,
            scan: Some(row.scan),
            through: Vec::new(),
            case: row.case,
            procedure: case.procedure.clone(),
            scheduled_for: case.scheduled_for,
            status: case.status,
            patient: case.patient,
            product: row.product,
            lot: row.lot,
            unit: row.unit,
            serial: serial.cloned(),
            disposition: row.disposition.parse().map_err(|_| StoreError::Unfit)?,
            taken_at: row.taken_at.to_jiff(),
        };
        if was_struck {
            struck.insert(row.scan, item);
        } else {
            items.push(item);
        }
    }
    Ok((items, struck))
}

/// The lots whose items are hit whatever their pieces say, where serials are not asked for: those
/// that are named as they stand.
fn decided(scope: &Scope, asked: Asked) -> BTreeSet<Uuid> {
    let named = scope.hit.iter();
    let named = named.filter(|lot| asked == Asked::Counts && lot.class == MatchClass::Affected);
    named.map(|lot| lot.id).collect()
}

async fn candidates(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
) -> Result<Vec<UseRow>, StoreError> {
    match asked {
        Asked::All | Asked::Counts => {
            let lots: Vec<Uuid> = scope.hit.iter().map(|lot| lot.id).collect();
            let of_lots = OfLots { lots: lots.clone() };
            let mut rows: Vec<UseRow> = of_lots.load(connection).await?;
            let of_records = OfRecords { lots };
            rows.extend(of_records.load::<UseRow>(connection).await?);
            let products = scope.by_piece();
            if !products.is_empty() {
                rows.extend(OfPieces { products }.load::<UseRow>(connection).await?);
            }
            Ok(rows)
        }
        Asked::Lot(lot) => {
            let of_lot = OfLots { lots: vec![lot] };
            Ok(of_lot.load(connection).await?)
        }
        Asked::Patient(patient) => Ok(OfPatient { patient }.load(connection).await?),
    }
}

/// The cases of the uses. They are read together, in order: one look-up for each use would read the
/// same pages again and again.
async fn cases(
    connection: &mut AsyncPgConnection,
    rows: &[UseRow],
) -> Result<HashMap<Uuid, CaseOfUse>, StoreError> {
    type Row = (Uuid, String, jiff_diesel::Timestamp, String, Uuid);
    let cases = distinct(rows.iter().map(|row| row.case));
    let rows: Vec<Row> = Cases { cases }.load(connection).await?;
    let cases = rows
        .into_iter()
        .map(|(id, procedure, scheduled_for, status, patient)| {
            let case = CaseOfUse {
                procedure,
                scheduled_for: scheduled_for.to_jiff(),
                status: status.parse().map_err(|_| StoreError::Unfit)?,
                patient,
            };
            Ok((id, case))
        });
    cases.collect()
}

/// The serials of the pieces that were used.
async fn serials(
    connection: &mut AsyncPgConnection,
    rows: impl Iterator<Item = &UseRow>,
) -> Result<HashMap<Uuid, String>, StoreError> {
    let pieces = rows.filter(|row| row.unit.is_some());
    let lots = distinct(pieces.map(UseRow::lot_on_record));
    let rows: Vec<(Uuid, String)> = Serials { lots }.load(connection).await?;
    Ok(rows.into_iter().collect())
}

/// Ids in order, each once.
fn distinct(ids: impl Iterator<Item = Uuid>) -> Vec<Uuid> {
    let mut ids: Vec<Uuid> = ids.collect();
    ids.sort_unstable();
    ids.dedup();
    ids
}
