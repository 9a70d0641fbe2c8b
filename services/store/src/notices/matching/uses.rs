//! The uses that a notice hits.

use super::{ItemMatched, Row, Scope};
use crate::database::StoreError;
use diesel::sql_types::{Array, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel::{QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(QueryableByName)]
struct UseRow {
    #[diesel(sql_type = SqlUuid)]
    scan_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    case_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    product_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_id: Option<Uuid>,
    #[diesel(sql_type = Nullable<Text>)]
    serial: Option<String>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_lot: Option<Uuid>,
    #[diesel(sql_type = Text)]
    disposition: String,
    #[diesel(sql_type = Timestamptz)]
    taken_at: jiff_diesel::Timestamp,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    struck_at: Option<jiff_diesel::Timestamp>,
    #[diesel(sql_type = Text)]
    procedure_name: String,
    #[diesel(sql_type = Timestamptz)]
    scheduled_for: jiff_diesel::Timestamp,
    #[diesel(sql_type = Text)]
    status: String,
    #[diesel(sql_type = SqlUuid)]
    patient_id: Uuid,
}

/// The uses that stand, oldest first, and how many were struck.
///
/// Looked at are the uses recorded under a lot that is hit, those of a piece whose record names
/// such a lot, and where serials are named those of every piece and of none. Each look-up stands
/// behind `OFFSET 0`, so that it goes by its key.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<(Vec<ItemMatched>, u64), StoreError> {
    let hit: Vec<Uuid> = scope.hit.iter().map(|lot| lot.id).collect();
    let rows: Vec<UseRow> = sql_query(
        "SELECT u.scan_id, u.case_id, u.product_id, u.lot_id, u.unit_id, t.serial, t.lot_id AS unit_lot,
            u.disposition, u.taken_at, u.struck_at, c.procedure_name, c.scheduled_for, c.status, c.patient_id
         FROM (
            SELECT s.* FROM unnest($1) AS q (id), LATERAL (SELECT * FROM uses WHERE lot_id = q.id OFFSET 0) s
            UNION ALL
            SELECT s.* FROM unnest($1) AS q (id), LATERAL (SELECT id FROM units WHERE lot_id = q.id OFFSET 0) t,
            LATERAL (SELECT * FROM uses WHERE unit_id = t.id AND lot_id <> q.id OFFSET 0) s
            UNION ALL
            SELECT s.* FROM unnest($2) AS q (id), LATERAL (SELECT id FROM units WHERE product_id = q.id OFFSET 0) t,
            LATERAL (SELECT * FROM uses WHERE unit_id = t.id OFFSET 0) s
         ) u
         LEFT JOIN LATERAL (SELECT serial, lot_id FROM units WHERE id = u.unit_id OFFSET 0) t ON true,
         LATERAL (SELECT * FROM cases WHERE id = u.case_id OFFSET 0) c",
    )
    .bind::<Array<SqlUuid>, _>(hit)
    .bind::<Array<SqlUuid>, _>(scope.by_piece())
    .load(connection)
    .await?;
    let mut struck = BTreeMap::new();
    let mut items = BTreeMap::new();
    for row in rows {
        let piece = row.unit_id.zip(row.unit_lot);
        let unit = piece.zip(row.serial.as_deref());
        let class = scope.class(Row {
            product: row.product_id,
            lot: row.lot_id,
            unit: unit.map(|((id, lot), serial)| (id, serial, lot)),
        });
        let Some(class) = class else {
            continue;
        };
        if row.struck_at.is_some() {
            struck.insert(row.scan_id, ());
            continue;
        }
        let item = ItemMatched {
            class,
            scan: row.scan_id,
            case: row.case_id,
            procedure: row.procedure_name,
            scheduled_for: row.scheduled_for.to_jiff(),
            status: row.status.parse().map_err(|_| StoreError::Unfit)?,
            patient: row.patient_id,
            product: row.product_id,
            lot: row.lot_id,
            unit: row.unit_id.zip(row.serial),
            disposition: row.disposition.parse().map_err(|_| StoreError::Unfit)?,
            taken_at: row.taken_at.to_jiff(),
        };
        items.insert(row.scan_id, item);
    }
    Ok((items.into_values().collect(), struck.len() as u64))
}
