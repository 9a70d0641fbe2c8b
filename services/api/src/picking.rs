//! What has to be taken for a case, and whether the cases of a day can be set up.

mod show_picking;
mod show_readiness;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(show_picking::show_picking)
        .service(show_readiness::show_readiness);
}
