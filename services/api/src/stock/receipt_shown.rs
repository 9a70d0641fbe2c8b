//! Receipts as answers write them.

use super::day;
use crate::cases::Finding;
use lotwarden_store::moment::instant_text;
use lotwarden_store::stock as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A delivery as it was taken in.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReceiptShown {
    /// The receipt.
    id: Uuid,
    /// Who took it in.
    #[schema(example = "person:019353a4-7bb0-7c3e-8f54-0b6d1c2a9e10")]
    received_by: String,
    /// When.
    #[schema(format = DateTime)]
    received_at: String,
    /// Its lines.
    lines: Vec<ReceiptLineShown>,
}

/// One line of a receipt.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReceiptLineShown {
    /// The line, from 1.
    #[schema(example = 1)]
    line: i32,
    /// The characters as scanned; none for a typed line.
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<String>,
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[schema(example = "Inline smoke filter, 22 mm")]
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed; none when it was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "L2611A")]
    lot: Option<String>,
    /// The last usable day on record for the lot.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    expires_on: Option<String>,
    /// The serialised piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// Its serial, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "SN-000417")]
    serial: Option<String>,
    /// Where it was put.
    location_id: Uuid,
    /// Packages with this label that arrived.
    #[schema(example = 3)]
    quantity: i32,
    /// Units of use they added to stock; 0 for a piece that stood on record already.
    #[schema(example = 30)]
    units: i32,
    /// What the rules said at the dock, worst first.
    #[schema(value_type = Vec<Finding>)]
    findings: serde_json::Value,
}

impl From<&store::StockReceipt> for ReceiptShown {
    fn from(receipt: &store::StockReceipt) -> Self {
        Self {
            id: receipt.id,
            received_by: receipt.actor.clone(),
            received_at: instant_text(receipt.received_at),
            lines: receipt.lines.iter().map(Into::into).collect(),
        }
    }
}

impl From<&store::ReceivedLine> for ReceiptLineShown {
    fn from(line: &store::ReceivedLine) -> Self {
        Self {
            line: line.line,
            text: line.text.clone(),
            product_id: line.product,
            product_name: line.product_name.clone(),
            lot_id: line.lot,
            lot: line.lot_number.clone(),
            expires_on: day(line.expires_on),
            unit_id: line.unit,
            serial: line.serial.clone(),
            location_id: line.location,
            quantity: line.packages,
            units: line.quantity,
            findings: line.findings.clone(),
        }
    }
}
