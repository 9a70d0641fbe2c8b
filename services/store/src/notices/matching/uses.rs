//! The uses that a notice hits.

use super::{ItemMatched, Row, Scope};
use crate::database::StoreError;
use crate::recorder::statement::statement;
use diesel::Queryable;
use diesel::sql_types::{Array, Bool, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::notices::{MatchClass, Witness};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Where the uses come from, with the columns of each, its case, and its piece's serial where it is
/// asked for. Each look-up stands behind `OFFSET 0`, so that it goes by its key.
macro_rules! uses {
    ($from:literal, $serial:literal) => {
        concat!(
            "SELECT s.scan_id, s.case_id, s.product_id, s.lot_id, s.unit_id, s.other_lot_id, t.serial,
                s.disposition, s.taken_at, s.struck_at, c.procedure_name, c.scheduled_for, c.status, c.patient_id
             FROM ",
            $from,
            " s, LATERAL (SELECT * FROM cases WHERE id = s.case_id OFFSET 0) c
             LEFT JOIN LATERAL (SELECT serial FROM units WHERE id = s.unit_id AND ",
            $serial,
            " OFFSET 0) t ON true"
        )
    };
}

macro_rules! uses_statement {
    ($(#[$meta:meta])* $name:ident($($field:ident: $rust:ty => $sql:ty),*), $text:expr) => {
        statement! {
            $(#[$meta])*
            $name($($field: $rust => $sql),*)
                -> (SqlUuid, SqlUuid, SqlUuid, SqlUuid, Nullable<SqlUuid>, Nullable<SqlUuid>, Nullable<Text>,
                    Text, Timestamptz, Nullable<Timestamptz>, Text, Timestamptz, Text, SqlUuid),
            $text
        }
    };
}

uses_statement! {
    /// The uses recorded under lots, with their serials where they are asked for.
    OfLots(lots: Vec<Uuid> => Array<SqlUuid>, serials: bool => Bool),
    uses!(
        "unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE lot_id = q.id OFFSET 0)",
        "$2"
    )
}
uses_statement! {
    /// The uses of pieces whose record names one of the lots, recorded under another one.
    OfRecords(lots: Vec<Uuid> => Array<SqlUuid>),
    uses!("unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE other_lot_id = q.id OFFSET 0)", "true")
}
uses_statement! {
    /// The uses of every piece of products.
    OfPieces(products: Vec<Uuid> => Array<SqlUuid>),
    uses!(
        "unnest($1) AS q (id), LATERAL (SELECT id FROM units WHERE product_id = q.id OFFSET 0) p,
         LATERAL (SELECT * FROM uses WHERE unit_id = p.id OFFSET 0)",
        "true"
    )
}
uses_statement! {
    /// The uses on a patient's cases.
    OfPatient(patient: Uuid => SqlUuid),
    uses!(
        "(SELECT id FROM cases WHERE patient_id = $1 OFFSET 0) p,
         LATERAL (SELECT id, lot_id FROM scans WHERE case_id = p.id AND lot_id IS NOT NULL OFFSET 0) n,
         LATERAL (SELECT * FROM uses WHERE lot_id = n.lot_id AND scan_id = n.id OFFSET 0)",
        "true"
    )
}

#[derive(Queryable)]
struct UseRow {
    scan: Uuid,
    case: Uuid,
    product: Uuid,
    lot: Uuid,
    unit: Option<Uuid>,
    other_lot: Option<Uuid>,
    serial: Option<String>,
    disposition: String,
    taken_at: jiff_diesel::Timestamp,
    struck_at: jiff_diesel::NullableTimestamp,
    procedure: String,
    scheduled_for: jiff_diesel::Timestamp,
    status: String,
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
    let (mut items, mut struck) = (Vec::with_capacity(rows.len()), BTreeMap::new());
    for row in rows {
        let class = if decided.contains(&row.lot) {
            Some(MatchClass::Affected)
        } else {
            let on_record = row.other_lot.unwrap_or(row.lot);
            let piece = row.unit.zip(row.serial.as_deref());
            scope.class(Row {
                product: row.product,
                lot: row.lot,
                unit: piece.map(|(id, serial)| (id, serial, on_record)),
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
            procedure: row.procedure,
            scheduled_for: row.scheduled_for.to_jiff(),
            status: row.status.parse().map_err(|_| StoreError::Unfit)?,
            patient: row.patient,
            product: row.product,
            lot: row.lot,
            unit: row.unit,
            serial: row.serial,
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
            let decided = decided(scope, asked);
            let (decided, open) = lots.iter().partition(|lot| decided.contains(lot));
            let of_decided = OfLots {
                lots: decided,
                serials: false,
            };
            let of_open = OfLots {
                lots: open,
                serials: true,
            };
            let mut rows: Vec<UseRow> = of_decided.load(connection).await?;
            rows.extend(of_open.load::<UseRow>(connection).await?);
            let of_records = OfRecords { lots };
            rows.extend(of_records.load::<UseRow>(connection).await?);
            let products = scope.by_piece();
            if !products.is_empty() {
                rows.extend(OfPieces { products }.load::<UseRow>(connection).await?);
            }
            Ok(rows)
        }
        Asked::Lot(lot) => {
            let of_lot = OfLots {
                lots: vec![lot],
                serials: true,
            };
            Ok(of_lot.load(connection).await?)
        }
        Asked::Patient(patient) => Ok(OfPatient { patient }.load(connection).await?),
    }
}
