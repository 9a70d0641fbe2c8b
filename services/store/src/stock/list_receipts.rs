//! Reading receipts.

use super::{ReceivedLine, StockReceipt};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{lots, products, receipt_lines, receipts, units};
use diesel::dsl::count_star;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use std::collections::HashMap;
use uuid::Uuid;

/// A receipt without its lines.
#[derive(Clone, Debug)]
pub struct ReceiptSummary {
    /// The receipt.
    pub id: Uuid,
    /// Who took it in, as the ledger writes it.
    pub actor: String,
    /// When.
    pub received_at: Timestamp,
    /// How many lines it has.
    pub lines: i64,
    /// How many of them have a finding.
    pub lines_with_findings: i64,
}

type Head = (Uuid, String, jiff_diesel::Timestamp);

/// Lists receipts in the order they were taken in.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<ReceiptSummary>, StoreError> {
    let rows: Vec<Head> = receipts::table
        .filter(receipts::id.gt(after.start()))
        .order(receipts::id)
        .limit(after.fetch())
        .select((receipts::id, receipts::actor, receipts::received_at))
        .load(reading.connection())
        .await?;
    let page = Page::of(rows, after, |row| row.0);
    let ids: Vec<Uuid> = page.items.iter().map(|row| row.0).collect();
    let lines = receipt_lines::table
        .filter(receipt_lines::receipt_id.eq_any(ids))
        .group_by(receipt_lines::receipt_id)
        .select((receipt_lines::receipt_id, count_star()));
    let all: Vec<(Uuid, i64)> = lines.clone().load(reading.connection()).await?;
    let none = serde_json::Value::Array(Vec::new());
    let found: Vec<(Uuid, i64)> = lines
        .filter(receipt_lines::findings.ne(none))
        .load(reading.connection())
        .await?;
    let (all, found): (HashMap<_, _>, HashMap<_, _>) =
        (all.into_iter().collect(), found.into_iter().collect());
    let items = page.items.into_iter().map(|(id, actor, received_at)| {
        let of = |counts: &HashMap<Uuid, i64>| counts.get(&id).copied().unwrap_or_default();
        ReceiptSummary {
            id,
            actor,
            received_at: received_at.to_jiff(),
            lines: of(&all),
            lines_with_findings: of(&found),
        }
    });
    Ok(Page {
        items: items.collect(),
        next: page.next,
    })
}

/// Shows one receipt with its lines; none when there is no such receipt.
///
/// The last usable day of a line is the one on record now, which may be earlier than the one its
/// label gave.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<StockReceipt>, StoreError> {
    let head: Option<Head> = receipts::table
        .find(id)
        .select((receipts::id, receipts::actor, receipts::received_at))
        .first(reading.connection())
        .await
        .optional()?;
    let Some((id, actor, received_at)) = head else {
        return Ok(None);
    };
    let rows: Vec<LineRow> = receipt_lines::table
        .inner_join(products::table.on(products::id.eq(receipt_lines::product_id)))
        .inner_join(lots::table.on(lots::id.eq(receipt_lines::lot_id)))
        .left_join(units::table.on(units::id.nullable().eq(receipt_lines::unit_id)))
        .filter(receipt_lines::receipt_id.eq(id))
        .order(receipt_lines::line)
        .select((
            receipt_lines::line,
            receipt_lines::text,
            receipt_lines::product_id,
            products::name,
            receipt_lines::lot_id,
            lots::number,
            lots::expires_on,
            receipt_lines::unit_id,
            units::serial.nullable(),
            receipt_lines::location_id,
            receipt_lines::packages,
            receipt_lines::quantity,
            receipt_lines::findings,
        ))
        .load(reading.connection())
        .await?;
    Ok(Some(StockReceipt {
        id,
        actor,
        received_at: received_at.to_jiff(),
        lines: rows.into_iter().map(ReceivedLine::from).collect(),
    }))
}

#[derive(Queryable)]
struct LineRow {
    line: i32,
    text: Option<String>,
    product: Uuid,
    product_name: String,
    lot: Uuid,
    lot_number: Option<String>,
    expires_on: jiff_diesel::NullableDate,
    unit: Option<Uuid>,
    serial: Option<String>,
    location: Uuid,
    packages: i32,
    quantity: i32,
    findings: serde_json::Value,
}

impl From<LineRow> for ReceivedLine {
    fn from(row: LineRow) -> Self {
        Self {
            line: row.line,
            text: row.text,
            product: row.product,
            product_name: row.product_name,
            lot: row.lot,
            lot_number: row.lot_number,
            expires_on: row.expires_on.to_jiff(),
            unit: row.unit,
            serial: row.serial,
            location: row.location,
            packages: row.packages,
            quantity: row.quantity,
            findings: row.findings,
        }
    }
}
