//! The uses that a notice hits.

use super::{ItemMatched, Row, Scope};
use crate::database::StoreError;
use crate::recorder::statement::statement;
use diesel::sql_types::{Array, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::cases::CaseStatus;
use lotwarden_domain::notices::{MatchClass, Witness};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

// Each look-up stands behind `OFFSET 0`, so that it goes by its key.
statement! {
    /// The uses recorded under lots.
    OfLots(lots: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Text, Timestamptz, Nullable<Timestamptz>),
    "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.disposition, s.taken_at, s.struck_at
     FROM unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE lot_id = q.id OFFSET 0) s"
}
statement! {
    /// The uses of pieces whose record names one of the lots, recorded under another one. That a
    /// piece has such uses is seen in the index alone.
    OfRecords(lots: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Text, Timestamptz, Nullable<Timestamptz>),
    "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.disposition, s.taken_at, s.struck_at
     FROM unnest($1) AS q (id),
     LATERAL (SELECT id FROM units WHERE lot_id = q.id OFFSET 0) t,
     LATERAL (SELECT DISTINCT lot_id FROM uses WHERE unit_id = t.id AND lot_id <> q.id OFFSET 0) o,
     LATERAL (SELECT * FROM uses WHERE unit_id = t.id AND lot_id = o.lot_id OFFSET 0) s"
}
statement! {
    /// The uses of every piece of products.
    OfPieces(products: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Text, Timestamptz, Nullable<Timestamptz>),
    "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.disposition, s.taken_at, s.struck_at
     FROM unnest($1) AS q (id), LATERAL (SELECT id FROM units WHERE product_id = q.id OFFSET 0) t,
     LATERAL (SELECT * FROM uses WHERE unit_id = t.id OFFSET 0) s"
}
statement! {
    /// The uses on a patient's cases.
    OfPatient(patient: Uuid => SqlUuid)
        -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Text, Timestamptz, Nullable<Timestamptz>),
    "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.disposition, s.taken_at, s.struck_at
     FROM (SELECT id FROM cases WHERE patient_id = $1 OFFSET 0) c,
     LATERAL (SELECT id, lot_id FROM scans WHERE case_id = c.id AND lot_id IS NOT NULL OFFSET 0) n,
     LATERAL (SELECT * FROM uses WHERE lot_id = n.lot_id AND scan_id = n.id OFFSET 0) s"
}
statement! {
    /// Serials of pieces, and the lots on their records.
    Pieces(units: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text, SqlUuid),
    "SELECT t.id, t.serial, t.lot_id FROM unnest($1) AS q (id), LATERAL (SELECT * FROM units WHERE id = q.id OFFSET 0) t"
}
statement! {
    /// Cases.
    Cases(cases: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text, Timestamptz, Text, SqlUuid),
    "SELECT c.id, c.procedure_name, c.scheduled_for, c.status, c.patient_id
     FROM unnest($1) AS q (id), LATERAL (SELECT * FROM cases WHERE id = q.id OFFSET 0) c"
}

type UseRow = (
    Uuid,
    Uuid,
    Uuid,
    Uuid,
    Option<Uuid>,
    String,
    jiff_diesel::Timestamp,
    jiff_diesel::NullableTimestamp,
);

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
    rows.sort_unstable_by_key(|row| row.0);
    rows.dedup_by_key(|row| row.0);
    let by_lot: HashMap<Uuid, MatchClass> =
        scope.hit.iter().map(|lot| (lot.id, lot.class)).collect();
    // What is named by its lot as it stands is hit whatever its piece says.
    let decided =
        |row: &UseRow| asked == Asked::Counts && by_lot.get(&row.3) == Some(&MatchClass::Affected);
    let open = rows.iter().filter(|row| !decided(row));
    let units: BTreeSet<Uuid> = open.filter_map(|row| row.4).collect();
    let units = pieces(connection, units.into_iter().collect()).await?;
    let mut hit = Vec::with_capacity(rows.len());
    for row in rows {
        let piece = row.4.and_then(|id| Some((id, units.get(&id)?)));
        let class = if decided(&row) {
            Some(MatchClass::Affected)
        } else {
            scope.class(Row {
                product: row.2,
                lot: row.3,
                unit: piece.map(|(id, (serial, lot))| (id, serial.as_str(), *lot)),
            })
        };
        if let Some(class) = class {
            let serial = piece.map(|(_, (serial, _))| serial.clone());
            hit.push((class, serial, row));
        }
    }
    let cases: BTreeSet<Uuid> = hit.iter().map(|(_, _, row)| row.1).collect();
    let cases = cases_of(connection, cases.into_iter().collect()).await?;
    let (mut items, mut struck) = (Vec::with_capacity(hit.len()), BTreeMap::new());
    for (class, serial, row) in hit {
        let (scan, case, product, lot, unit, disposition, taken_at, struck_at) = row;
        let of = cases.get(&case).ok_or(StoreError::Unfit)?;
        let item = ItemMatched {
            class,
            witness: Witness::Scan,
            scan: Some(scan),
            through: Vec::new(),
            case,
            procedure: of.procedure.clone(),
            scheduled_for: of.scheduled_for,
            status: of.status,
            patient: of.patient,
            product,
            lot,
            unit,
            serial,
            disposition: disposition.parse().map_err(|_| StoreError::Unfit)?,
            taken_at: taken_at.to_jiff(),
        };
        if struck_at.to_jiff().is_some() {
            struck.insert(scan, item);
        } else {
            items.push(item);
        }
    }
    Ok((items, struck))
}

async fn candidates(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
) -> Result<Vec<UseRow>, StoreError> {
    match asked {
        Asked::All | Asked::Counts => {
            let lots: Vec<Uuid> = scope.hit.iter().map(|lot| lot.id).collect();
            let of_records = OfRecords { lots: lots.clone() };
            let mut rows: Vec<UseRow> = OfLots { lots }.load(connection).await?;
            rows.extend(of_records.load::<UseRow>(connection).await?);
            let products = scope.by_piece();
            rows.extend(OfPieces { products }.load::<UseRow>(connection).await?);
            Ok(rows)
        }
        Asked::Lot(lot) => Ok(OfLots { lots: vec![lot] }.load(connection).await?),
        Asked::Patient(patient) => Ok(OfPatient { patient }.load(connection).await?),
    }
}

async fn pieces(
    connection: &mut AsyncPgConnection,
    units: Vec<Uuid>,
) -> Result<HashMap<Uuid, (String, Uuid)>, StoreError> {
    if units.is_empty() {
        return Ok(HashMap::new());
    }
    let rows: Vec<(Uuid, String, Uuid)> = Pieces { units }.load(connection).await?;
    let of = |(id, serial, lot)| (id, (serial, lot));
    Ok(rows.into_iter().map(of).collect())
}

struct Case {
    procedure: String,
    scheduled_for: jiff::Timestamp,
    status: CaseStatus,
    patient: Uuid,
}

async fn cases_of(
    connection: &mut AsyncPgConnection,
    cases: Vec<Uuid>,
) -> Result<HashMap<Uuid, Case>, StoreError> {
    type CaseRow = (Uuid, String, jiff_diesel::Timestamp, String, Uuid);
    let rows: Vec<CaseRow> = Cases { cases }.load(connection).await?;
    let of = |(id, procedure, scheduled_for, status, patient): CaseRow| {
        let case = Case {
            procedure,
            scheduled_for: scheduled_for.to_jiff(),
            status: status.parse().map_err(|_| StoreError::Unfit)?,
            patient,
        };
        Ok((id, case))
    };
    rows.into_iter().map(of).collect()
}
