//! Every route, by capability.

use utoipa_actix_web::service_config::ServiceConfig;

/// All routes of the service; a route that is not here is not described and not served.
pub fn routes(config: &mut ServiceConfig<'_>) {
    crate::access::routes(config);
    crate::catalogue::routes(config);
    crate::stock::routes(config);
    crate::cases::routes(config);
    crate::holds::routes(config);
    crate::cylinders::routes(config);
    crate::mixes::routes(config);
    crate::vials::routes(config);
    crate::loads::routes(config);
    crate::equipment::routes(config);
    crate::routines::routes(config);
    crate::documents::routes(config);
    crate::records::routes(config);
    crate::picking::routes(config);
    crate::notices::routes(config);
    crate::outbox::routes(config);
    crate::where_used::routes(config);
    crate::ledger::routes(config);
    crate::readings::routes(config);
    crate::service::routes(config);
}
