//! Where an item is besides on cases: on shelves, in receipts, and at the scans that were stopped.

use super::uses_of::Scope;
use super::{Class, Question};
use crate::database::StoreError;
use crate::schema::{locations, receipt_lines, receipts, scans, stock_levels, strikes, uses};
use crate::stock::level;
use diesel::dsl::{exists, not};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use std::collections::HashMap;
use uuid::Uuid;

/// Stock in question, by place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnHand {
    /// The lot.
    pub lot: Uuid,
    /// The place, by id and name.
    pub location: (Uuid, String),
    /// Units of use.
    pub quantity: i32,
    /// How it relates to the question.
    pub class: Class,
}

/// A line of a receipt that brought the item in.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiptLine {
    /// The receipt.
    pub receipt: Uuid,
    /// When.
    pub received_at: Timestamp,
    /// The lot.
    pub lot: Uuid,
    /// The place it was put.
    pub location: Uuid,
    /// Units of use received.
    pub quantity: i32,
    /// Whether some of the lot is still at that place.
    pub open: bool,
    /// How it relates to the question.
    pub class: Class,
}

/// A scan of the item that was stopped: it did not go on the case.
#[derive(Clone, Debug)]
pub struct Stopped {
    /// The scan.
    pub scan: Uuid,
    /// The case.
    pub case: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The piece.
    pub unit: Option<Uuid>,
    /// When.
    pub occurred_at: Timestamp,
    /// What it was stopped for, as it was told.
    pub findings: serde_json::Value,
    /// How it relates to the question.
    pub class: Class,
}

/// Stock on hand. A question by serial asks for one piece: it is on hand where it was put, as long
/// as no case claims it, and may be among what was received without serials.
pub(super) async fn on_hand(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<OnHand>, StoreError> {
    if question.serial.is_some() {
        let mut found = piece_on_hand(connection, scope).await?;
        found.extend(loose_on_hand(connection, question, scope).await?);
        return Ok(found);
    }
    let rows: Vec<(Uuid, Uuid, String, i32)> = stock_levels::table
        .inner_join(locations::table.on(locations::id.eq(stock_levels::location_id)))
        .filter(stock_levels::lot_id.eq_any(scope.all_lots()))
        .filter(stock_levels::quantity.gt(0))
        .order((stock_levels::lot_id, locations::name))
        .select((
            stock_levels::lot_id,
            locations::id,
            locations::name,
            stock_levels::quantity,
        ))
        .load(connection)
        .await?;
    let on_hand = |(lot, place, name, quantity)| {
        let class = scope.class_of(question, lot, None)?;
        Some(OnHand {
            lot,
            location: (place, name),
            quantity,
            class,
        })
    };
    Ok(rows.into_iter().filter_map(on_hand).collect())
}

async fn piece_on_hand(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<Vec<OnHand>, StoreError> {
    let Some(piece) = &scope.unit else {
        return Ok(Vec::new());
    };
    let Some(place) = piece.location else {
        return Ok(Vec::new());
    };
    let claimed = uses::table.filter(uses::unit_id.eq(piece.id).and(uses::claims_unit));
    let row: Option<(Uuid, String)> = locations::table
        .filter(locations::id.eq(place))
        .filter(not(exists(claimed)))
        .select((locations::id, locations::name))
        .first(connection)
        .await
        .optional()?;
    let on_hand = row.map(|location| OnHand {
        lot: piece.lot,
        location,
        quantity: 1,
        class: Class::Affected,
    });
    Ok(on_hand.into_iter().collect())
}

/// Stock that no piece stands for, of the lots that the piece asked for can be of.
async fn loose_on_hand(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<OnHand>, StoreError> {
    let lots = scope.possible_lots(question);
    let mut standing = level::standing(connection, None, Some(&lots)).await?;
    standing.retain(|row| row.unit.is_none());
    let places = locations::table
        .filter(locations::id.eq_any(standing.iter().map(|row| row.place)))
        .select((locations::id, locations::name));
    let names: HashMap<Uuid, String> = places
        .load::<(Uuid, String)>(connection)
        .await?
        .into_iter()
        .collect();
    let on_hand = |row: level::Standing| {
        Some(OnHand {
            lot: row.lot,
            location: (row.place, names.get(&row.place)?.clone()),
            quantity: row.quantity,
            class: scope.class_of(question, row.lot, None)?,
        })
    };
    Ok(standing.into_iter().filter_map(on_hand).collect())
}

/// The receipts that brought the item in.
pub(super) async fn received(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<ReceiptLine>, StoreError> {
    type Row = (
        Uuid,
        jiff_diesel::Timestamp,
        Uuid,
        Option<Uuid>,
        Uuid,
        i32,
        Option<i32>,
    );
    let query = receipt_lines::table
        .inner_join(receipts::table.on(receipts::id.eq(receipt_lines::receipt_id)))
        .left_join(
            stock_levels::table.on(stock_levels::lot_id
                .eq(receipt_lines::lot_id)
                .and(stock_levels::location_id.eq(receipt_lines::location_id))),
        )
        .order((receipt_lines::receipt_id, receipt_lines::line))
        .select((
            receipts::id,
            receipts::received_at,
            receipt_lines::lot_id,
            receipt_lines::unit_id,
            receipt_lines::location_id,
            receipt_lines::quantity,
            stock_levels::quantity.nullable(),
        ))
        .into_boxed();
    let query = match &question.serial {
        None => query.filter(receipt_lines::lot_id.eq_any(scope.all_lots())),
        Some(_) => query.filter(
            receipt_lines::lot_id
                .eq_any(scope.possible_lots(question))
                .and(receipt_lines::unit_id.is_null())
                .or(receipt_lines::unit_id.eq(scope.piece())),
        ),
    };
    let rows: Vec<Row> = query.load(connection).await?;
    let line = |(receipt, at, lot, unit, location, quantity, left): Row| {
        let class = scope.class_of(question, lot, unit)?;
        Some(ReceiptLine {
            receipt,
            received_at: at.to_jiff(),
            lot,
            location,
            quantity,
            open: left.is_some_and(|left| left > 0),
            class,
        })
    };
    Ok(rows.into_iter().filter_map(line).collect())
}

/// The scans of the item that were stopped and not taken back.
pub(super) async fn stopped(
    connection: &mut AsyncPgConnection,
    question: &Question,
    scope: &Scope,
) -> Result<Vec<Stopped>, StoreError> {
    type Row = (
        Uuid,
        Uuid,
        Option<Uuid>,
        Option<Uuid>,
        jiff_diesel::Timestamp,
        serde_json::Value,
    );
    let struck = strikes::table.filter(strikes::scan_id.eq(scans::id));
    let query = scans::table
        .filter(scans::lot_id.is_not_null())
        .filter(scans::verdict.eq(diesel::dsl::sql::<diesel::sql_types::Text>("'stop'")))
        .filter(not(exists(struck)))
        .order(scans::id)
        .select((
            scans::id,
            scans::case_id,
            scans::lot_id,
            scans::unit_id,
            scans::occurred_at,
            scans::findings,
        ))
        .into_boxed();
    let query = match &question.serial {
        None => query.filter(scans::lot_id.eq_any(scope.all_lots())),
        Some(_) => query.filter(
            scans::lot_id
                .eq_any(scope.possible_lots(question))
                .and(scans::unit_id.is_null())
                .or(scans::unit_id.eq(scope.piece())),
        ),
    };
    let rows: Vec<Row> = query.load(connection).await?;
    let stopped = |(scan, case, lot, unit, at, findings): Row| {
        let lot = lot?;
        let class = scope.class_of(question, lot, unit)?;
        Some(Stopped {
            scan,
            case,
            lot,
            unit,
            occurred_at: at.to_jiff(),
            findings,
            class,
        })
    };
    Ok(rows.into_iter().filter_map(stopped).collect())
}
