//! Drugs as their labels print them, and multi-dose vials from their first puncture.

mod describe_drug;
mod open_vial;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(describe_drug::describe_drug)
        .service(describe_drug::list_drugs)
        .service(open_vial::open_vial)
        .service(open_vial::list_vials)
        .service(open_vial::discard_vial);
}
