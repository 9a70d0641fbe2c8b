//! Where items of a notice are besides on cases: on shelves, in receipts, at stopped scans.

use super::{OnHandMatched, ReceiptMatched, Row, Scope, StoppedMatched};
use crate::database::StoreError;
use diesel::sql_types::{Array, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel::{QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use std::collections::HashMap;
use uuid::Uuid;

#[derive(QueryableByName)]
struct LevelRow {
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    location_id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
    #[diesel(sql_type = Integer)]
    quantity: i32,
}

#[derive(QueryableByName)]
struct PieceRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = Text)]
    serial: String,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    location_id: Uuid,
    #[diesel(sql_type = Text)]
    name: String,
}

/// Stock of these lots that is hit. Where serials are named each piece that no case claims counts by itself, and
/// of a lot's quantity only what no piece stands for.
pub(super) async fn on_hand(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    lots: &[Uuid],
) -> Result<Vec<OnHandMatched>, StoreError> {
    if lots.is_empty() {
        return Ok(Vec::new());
    }
    let levels: Vec<LevelRow> = sql_query(
        "SELECT s.lot_id, s.location_id, p.name, s.quantity FROM unnest($1) AS q (id),
         LATERAL (SELECT * FROM stock_levels WHERE lot_id = q.id AND quantity > 0 OFFSET 0) s,
         LATERAL (SELECT name FROM locations WHERE id = s.location_id OFFSET 0) p
         ORDER BY s.lot_id, p.name",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .load(connection)
    .await?;
    let by_piece = scope.by_piece();
    let in_pieces = lots.iter().copied();
    let in_pieces = in_pieces.filter(|lot| {
        let product = scope.product_of(*lot);
        product.is_some_and(|product| by_piece.contains(&product))
    });
    let pieces: Vec<PieceRow> = sql_query(
        "SELECT t.id, t.serial, t.lot_id, t.location_id, p.name FROM unnest($1) AS q (id),
         LATERAL (SELECT * FROM units WHERE lot_id = q.id AND location_id IS NOT NULL
            AND NOT EXISTS (SELECT 1 FROM uses u WHERE u.unit_id = units.id AND u.claims_unit) OFFSET 0) t,
         LATERAL (SELECT name FROM locations WHERE id = t.location_id OFFSET 0) p
         ORDER BY t.id",
    )
    .bind::<Array<SqlUuid>, _>(in_pieces.collect::<Vec<_>>())
    .load(connection)
    .await?;
    let mut found = Vec::new();
    let mut counted: HashMap<(Uuid, Uuid), i32> = HashMap::new();
    for piece in pieces {
        *counted
            .entry((piece.lot_id, piece.location_id))
            .or_default() += 1;
        let Some(product) = scope.product_of(piece.lot_id) else {
            continue;
        };
        let unit = Some((piece.id, piece.serial.as_str(), piece.lot_id));
        let lot = piece.lot_id;
        if let Some(class) = scope.class(Row { product, lot, unit }) {
            found.push(OnHandMatched {
                class,
                product,
                lot,
                unit: Some(piece.id),
                location: (piece.location_id, piece.name),
                quantity: 1,
            });
        }
    }
    for level in levels {
        let pieces = counted.get(&(level.lot_id, level.location_id)).copied();
        let quantity = level.quantity - pieces.unwrap_or_default();
        let Some(product) = scope.product_of(level.lot_id) else {
            continue;
        };
        let lot = level.lot_id;
        let class = scope.class(Row {
            product,
            lot,
            unit: None,
        });
        if let Some(class) = class.filter(|_| quantity > 0) {
            found.push(OnHandMatched {
                class,
                product,
                lot,
                unit: None,
                location: (level.location_id, level.name),
                quantity,
            });
        }
    }
    Ok(found)
}

#[derive(QueryableByName)]
struct HistoryRow {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    place: Uuid,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_id: Option<Uuid>,
    #[diesel(sql_type = Nullable<Text>)]
    serial: Option<String>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_lot: Option<Uuid>,
    #[diesel(sql_type = Integer)]
    quantity: i32,
    #[diesel(sql_type = Timestamptz)]
    at: jiff_diesel::Timestamp,
}

impl HistoryRow {
    fn class(&self, scope: &Scope) -> Option<lotwarden_domain::notices::MatchClass> {
        let unit = self.unit_id.zip(self.unit_lot).zip(self.serial.as_deref());
        scope.class(Row {
            product: scope.product_of(self.lot_id)?,
            lot: self.lot_id,
            unit: unit.map(|((id, lot), serial)| (id, serial, lot)),
        })
    }
}

/// The receipt lines that brought the items in.
pub(super) async fn receipts(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<ReceiptMatched>, StoreError> {
    let rows: Vec<HistoryRow> = sql_query(
        "SELECT l.receipt_id AS id, l.location_id AS place, l.lot_id, l.unit_id, t.serial, t.lot_id AS unit_lot,
            l.quantity, r.received_at AS at
         FROM unnest($1) AS q (id), LATERAL (SELECT * FROM receipt_lines WHERE lot_id = q.id OFFSET 0) l
         LEFT JOIN LATERAL (SELECT serial, lot_id FROM units WHERE id = l.unit_id OFFSET 0) t ON true,
         LATERAL (SELECT * FROM receipts WHERE id = l.receipt_id OFFSET 0) r
         ORDER BY l.receipt_id, l.line",
    )
    .bind::<Array<SqlUuid>, _>(scope.lots_in_question())
    .load(connection)
    .await?;
    let found = rows.into_iter().filter_map(|row| {
        Some(ReceiptMatched {
            class: row.class(scope)?,
            receipt: row.id,
            received_at: row.at.to_jiff(),
            lot: row.lot_id,
            unit: row.unit_id,
            location: row.place,
            quantity: row.quantity,
        })
    });
    Ok(found.collect())
}

/// The scans of the items that were stopped and not taken back.
pub(super) async fn stopped(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<StoppedMatched>, StoreError> {
    let rows: Vec<HistoryRow> = sql_query(
        "SELECT s.id, s.case_id AS place, s.lot_id, s.unit_id, t.serial, t.lot_id AS unit_lot,
            1 AS quantity, s.occurred_at AS at
         FROM unnest($1) AS q (id),
         LATERAL (SELECT * FROM scans WHERE lot_id = q.id AND verdict = 'stop' AND NOT EXISTS
            (SELECT 1 FROM strikes k WHERE k.scan_id = scans.id) OFFSET 0) s
         LEFT JOIN LATERAL (SELECT serial, lot_id FROM units WHERE id = s.unit_id OFFSET 0) t ON true
         ORDER BY s.id",
    )
    .bind::<Array<SqlUuid>, _>(scope.lots_in_question())
    .load(connection)
    .await?;
    let found = rows.into_iter().filter_map(|row| {
        Some(StoppedMatched {
            class: row.class(scope)?,
            scan: row.id,
            case: row.place,
            lot: row.lot_id,
            unit: row.unit_id,
            occurred_at: row.at.to_jiff(),
        })
    });
    Ok(found.collect())
}
