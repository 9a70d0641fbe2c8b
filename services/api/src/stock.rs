//! Places, receipts, lots and what is on hand.

mod add_location;
mod list_locations;
mod list_lots;
mod list_receipts;
mod list_stock;
mod location_label;
mod receipt_body;
mod receipt_shown;
mod record_receipt;
mod show_label;
mod show_labels;

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
        .service(list_lots::list_lots)
        .service(list_lots::show_lot);
}

/// A civil day as answers write it (RFC 3339, full-date).
fn day(date: Option<Date>) -> Option<String> {
    date.map(|date| date.to_string())
}
