//! The service's own description (OpenAPI 3.1), made from the handlers.

use crate::problem::{FieldError, Problem};
use utoipa::openapi::security::{ApiKey, ApiKeyValue, Http, HttpAuthScheme, SecurityScheme};
use utoipa::{IntoParams, Modify, OpenApi};

/// The key that makes repeating a request harmless.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct IdempotencyKey {
    /// A fresh random text for each new request, the same for its repetitions; quoted or bare, 1 to
    /// 255 characters. The same key with another request is refused; answers are kept 72 hours at
    /// least.
    #[param(
        rename = "Idempotency-Key",
        example = "5f0c2b9e-8d5b-4f1a-9a53-0d8f2f3f6f11",
        min_length = 1,
        max_length = 255
    )]
    pub idempotency_key: String,
}

/// The version a change is made to.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct Change {
    /// The ETag of the record as it was read.
    #[param(
        rename = "If-Match",
        example = "\"1\"",
        pattern = "^\"[0-9]+(-[A-Za-z0-9_-]+)?\"$"
    )]
    pub if_match: String,
}

/// The version that something is recorded for.
#[derive(Debug, IntoParams)]
#[into_params(parameter_in = Header)]
pub struct ChangeIfSeen {
    /// The version of the record as it was read, when what is sent counts for that one alone.
    #[param(
        rename = "If-Match",
        example = "\"1\"",
        pattern = "^\"[0-9]+(-[A-Za-z0-9_-]+)?\"$"
    )]
    pub if_match: Option<String>,
}

struct Bearer;

impl Modify for Bearer {
    fn modify(&self, openapi: &mut utoipa::openapi::OpenApi) {
        let components = openapi.components.get_or_insert_default();
        let scheme = SecurityScheme::Http(Http::new(HttpAuthScheme::Bearer));
        components.add_security_scheme("bearer", scheme);
        let says = "`Station CREDENTIAL` of a paired station";
        let credential = ApiKeyValue::with_description("Authorization", says);
        let scheme = SecurityScheme::ApiKey(ApiKey::Header(credential));
        components.add_security_scheme("station", scheme);
    }
}

#[derive(OpenApi)]
#[openapi(
    info(
        title = "lotwarden",
        description = "Which lot of which item touched which patient: receiving, setup scans with a verdict each, holds, where-used, and a hash-chained ledger of all of it.\n\nThe service records and computes; it does not advise. Local codes and the manufacturers' instructions prevail.\n\nEvery POST and PUT that writes takes an `Idempotency-Key` and answers with the `entry` it made in the ledger. Refusals are `application/problem+json` (RFC 9457). Times are RFC 3339 in UTC, dates are civil days in the facility's zone.",
        license(name = "Apache-2.0", identifier = "Apache-2.0"),
    ),
    modifiers(&Bearer),
    security(("bearer" = [])),
    components(schemas(Problem, FieldError)),
    tags(
        (name = "access", description = "Signing in, people, stations, policy."),
        (name = "catalogue", description = "Products and their identifiers."),
        (name = "stock", description = "Places, receipts, lots and stock."),
        (name = "cases", description = "Cases, scans, uses."),
        (name = "holds", description = "Bars on products, lots and pieces."),
        (name = "cylinders", description = "Gas cylinders, their gauges, and gas on cases."),
        (name = "mixes", description = "Solutions for one patient, from the signed order to the rest."),
        (name = "loads", description = "Sterilizers, loads, indicators, and whom a load reached."),
        (name = "equipment", description = "Equipment, what is due on it, and the cases it was on."),
        (name = "routines", description = "Daily and monthly checks of the site, and what was missed."),
        (name = "records", description = "Lists, reconciliation, energy, checks, follow-ups, adverse events."),
        (name = "documents", description = "For the patient, the chart, billing, and the surgical log."),
        (name = "notices", description = "Recall notices, and what they hit."),
        (name = "where-used", description = "From a lot to patients and places."),
        (name = "ledger", description = "The audit trail and parcels of it."),
        (name = "service", description = "Health, metrics and this description."),
    ),
)]
struct Description;

/// The part of the description that no handler gives.
#[must_use]
pub fn base() -> utoipa::openapi::OpenApi {
    Description::openapi()
}

/// The whole description, as `api-spec/openapi.json` holds it.
#[must_use]
pub fn describe() -> utoipa::openapi::OpenApi {
    use utoipa_actix_web::AppExt;
    let app = actix_web::App::new().into_utoipa_app().openapi(base());
    let (_, description) = app.configure(crate::routes::routes).split_for_parts();
    description
}
