//! Places, receipts, lots and what is on hand.

mod add_location;
mod adjust_stock;
mod count_shelf;
pub(crate) mod level;
mod list_lots;
mod list_receipts;
mod list_stock;
mod move_stock;
mod named_item;
mod record_receipt;
mod shelf_count;
mod sweep_stock;

pub use add_location::{AddLocation, AddLocationRefusal, Location, list_locations, show_location};
pub use adjust_stock::{AdjustStock, AdjustStockRefusal, MOST_ADJUSTED};
pub use count_shelf::{CountShelf, CountShelfRefusal, MOST_COUNTED};
pub use list_lots::{Lot, LotFilter, LotSums, OnHand, list as list_lots, show as show_lot};
pub use list_receipts::{ReceiptSummary, list as list_receipts, show as show_receipt};
pub use list_stock::{StockCursor, StockFilter, StockPage, StockRow, list as list_stock};
pub use move_stock::{MoveStock, MoveStockRefusal, Moved};
pub use named_item::{ItemOnRecord, NamedItem};
pub use record_receipt::{MOST_LINES, ReceiptLine, RecordReceipt, RecordReceiptRefusal};
pub use shelf_count::{
    Adjusted, CountedLine, SheetLine, ShelfCount, list as list_shelf_counts,
    sheet as show_count_sheet, show as show_shelf_count,
};
pub use sweep_stock::{MOST_SWEPT, SweepDisposition, SweepStock, SweepStockRefusal, Swept};

use jiff::Timestamp;
use jiff::civil::Date;
use uuid::Uuid;

/// One delivery as it was taken in.
#[derive(Clone, Debug)]
pub struct StockReceipt {
    /// The receipt.
    pub id: Uuid,
    /// Who took it in, as the ledger writes it.
    pub actor: String,
    /// When.
    pub received_at: Timestamp,
    /// Its lines, from 1.
    pub lines: Vec<ReceivedLine>,
}

/// One line of a receipt.
#[derive(Clone, Debug)]
pub struct ReceivedLine {
    /// The line, from 1.
    pub line: i32,
    /// The characters as scanned; none for a typed line.
    pub text: Option<String>,
    /// The product.
    pub product: Uuid,
    /// Its name.
    pub product_name: String,
    /// The lot.
    pub lot: Uuid,
    /// Its number as printed; none when it was not recorded.
    pub lot_number: Option<String>,
    /// The last usable day on record for the lot.
    pub expires_on: Option<Date>,
    /// The serialised piece.
    pub unit: Option<Uuid>,
    /// Its serial as printed.
    pub serial: Option<String>,
    /// Where it was put.
    pub location: Uuid,
    /// Packages that arrived.
    pub packages: i32,
    /// Units of use they added to stock; none for a piece that stood on record already.
    pub quantity: i32,
    /// What the rules said at the dock, worst first.
    pub findings: serde_json::Value,
}
