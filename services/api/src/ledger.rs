//! The ledger: its head, its entries, and parcels of it.

mod export_parcel;
mod list_entries;
mod show_head;
mod show_parcel;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(show_head::show_head)
        .service(list_entries::list_entries)
        .service(export_parcel::export_parcel)
        .service(show_parcel::show_parcel);
}
