//! From a case back to what went into it.

use crate::database::{Reading, StoreError};
use crate::schema::{lots, products, receipt_lines, receipts, scans, uses};
use crate::where_used::{Through, of_case};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use uuid::Uuid;

/// What went into a case, back to receipt.
#[derive(Clone, Debug)]
pub struct Sources {
    /// The lots on the case, in the order they were scanned.
    pub lots: Vec<SourceLot>,
    /// The mixes, fills of gas and loads.
    pub through: Through,
}

/// A lot on a case with the deliveries that brought it in.
#[derive(Clone, Debug)]
pub struct SourceLot {
    /// The scan.
    pub scan: Uuid,
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// The lot, by id and number.
    pub lot: (Uuid, Option<String>),
    /// The piece.
    pub unit: Option<Uuid>,
    /// The receipts of the lot, oldest first.
    pub receipts: Vec<(Uuid, Timestamp)>,
}

/// Shows what went into a case; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_sources(
    reading: &mut Reading,
    case: Uuid,
) -> Result<Option<Sources>, StoreError> {
    if !super::exists(reading, case).await? {
        return Ok(None);
    }
    type Row = (Uuid, (Uuid, String), (Uuid, Option<String>), Option<Uuid>);
    let connection = reading.connection();
    let rows: Vec<Row> = scans::table
        .inner_join(
            uses::table.on(uses::scan_id
                .eq(scans::id)
                .and(uses::lot_id.nullable().eq(scans::lot_id))),
        )
        .inner_join(lots::table.on(lots::id.eq(uses::lot_id)))
        .inner_join(products::table.on(products::id.eq(uses::product_id)))
        .filter(scans::case_id.eq(case))
        .filter(uses::struck_at.is_null())
        .order(scans::id)
        .select((
            uses::scan_id,
            (products::id, products::name),
            (lots::id, lots::number),
            uses::unit_id,
        ))
        .load(connection)
        .await?;
    type Receipt = (Uuid, Option<Uuid>, Uuid, jiff_diesel::Timestamp);
    let ids: Vec<Uuid> = rows.iter().map(|row| row.2.0).collect();
    let came: Vec<Receipt> = receipt_lines::table
        .inner_join(receipts::table.on(receipts::id.eq(receipt_lines::receipt_id)))
        .filter(receipt_lines::lot_id.eq_any(ids))
        .order((receipts::id, receipt_lines::line))
        .select((
            receipt_lines::lot_id,
            receipt_lines::unit_id,
            receipts::id,
            receipts::received_at,
        ))
        .load(connection)
        .await?;
    let lots = rows.into_iter().map(|(scan, product, lot, unit)| {
        let of_piece = |line: &&Receipt| line.1.is_none() || unit.is_none() || line.1 == unit;
        let own = came.iter().filter(|line| line.0 == lot.0).filter(of_piece);
        let receipts = own.map(|line| (line.2, line.3.to_jiff())).collect();
        SourceLot {
            scan,
            product,
            lot,
            unit,
            receipts,
        }
    });
    let lots = lots.collect();
    let through = of_case(connection, case).await?;
    Ok(Some(Sources { lots, through }))
}
