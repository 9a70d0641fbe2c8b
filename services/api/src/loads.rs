//! Sterile processing: sterilizers, loads, packs, indicators, cleaning.

mod add_sterilizer;
mod clear_load;
mod list_loads;
mod load;
mod record_cleaning;
mod record_indicator;
mod record_load;
mod release_load;
mod return_sterilizer;
mod set_cycle_limit;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_sterilizer::add_sterilizer)
        .service(add_sterilizer::list_sterilizers)
        .service(return_sterilizer::return_sterilizer)
        .service(set_cycle_limit::set_cycle_limit)
        .service(record_cleaning::record_cleaning)
        .service(record_load::record_load)
        .service(list_loads::list_loads)
        .service(list_loads::show_load)
        .service(record_indicator::record_indicator)
        .service(release_load::release_load)
        .service(clear_load::clear_load);
}
