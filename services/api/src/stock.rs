//! Places, receipts, lots and what is on hand.

mod add_location;
mod adjust_stock;
mod count_shelf;
mod item_body;
mod list_locations;
mod list_lots;
mod list_receipts;
mod list_stock;
mod location_label;
mod move_stock;
mod receipt_body;
mod receipt_shown;
mod record_receipt;
mod shelf_counts;
mod show_label;
mod show_labels;
mod sweep_stock;

pub(crate) use list_locations::Location;
pub(crate) use location_label::unprintable;

pub(crate) use show_label::LabelForm;

use jiff::civil::Date;
use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_location::add_location)
        .service(list_locations::list_locations)
        .service(show_labels::show_labels)
        .service(show_label::show_label)
        .service(record_receipt::record_receipt)
        .service(list_receipts::list_receipts)
        .service(list_receipts::show_receipt)
        .service(list_stock::list_stock)
        .service(move_stock::move_stock)
        .service(shelf_counts::show_count_sheet)
        .service(count_shelf::count_shelf)
        .service(shelf_counts::list_shelf_counts)
        .service(shelf_counts::show_shelf_count)
        .service(adjust_stock::adjust_stock)
        .service(sweep_stock::sweep_stock)
        .service(list_lots::list_lots)
        .service(list_lots::show_lot);
}

/// A civil day as answers write it (RFC 3339, full-date).
fn day(date: Option<Date>) -> Option<String> {
    date.map(|date| date.to_string())
}
