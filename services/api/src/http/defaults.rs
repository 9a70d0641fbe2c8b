//! The framework's own refusals, as problems.

use crate::problem::{ApiError, FieldError, catalogue};
use actix_web::dev::ResourceDef;
use actix_web::error::{PathError, QueryPayloadError};
use actix_web::http::header::{ALLOW, HeaderValue};
use actix_web::web::{Data, PathConfig, QueryConfig};
use actix_web::{HttpRequest, HttpResponse, ResponseError};

/// An address with something that is no identifier names nothing.
#[must_use]
pub fn paths() -> PathConfig {
    PathConfig::default()
        .error_handler(|_: PathError, _: &HttpRequest| ApiError::no_such("thing").into())
}

/// Parameters that do not fit.
#[must_use]
pub fn queries() -> QueryConfig {
    QueryConfig::default().error_handler(|error: QueryPayloadError, _: &HttpRequest| {
        let detail = match error {
            QueryPayloadError::Deserialize(error) => parameter(&error.to_string()),
            _ => "the query cannot be read".to_owned(),
        };
        ApiError::fields(vec![FieldError::new("query", detail)]).into()
    })
}

/// serde's words without the value.
fn parameter(text: &str) -> String {
    let cut = text.split(['`', '"']).next().unwrap_or_default();
    if text.starts_with("missing field") {
        text.to_owned()
    } else if cut.is_empty() {
        "a parameter does not fit its description".to_owned()
    } else {
        cut.trim().to_owned()
    }
}

/// Which methods each address takes, from the service's own description.
#[derive(Debug)]
pub struct Addresses(Vec<(ResourceDef, String)>);

impl Addresses {
    /// Reads the addresses from the description.
    #[must_use]
    pub fn of(openapi: &utoipa::openapi::OpenApi) -> Self {
        let methods = |item: &utoipa::openapi::PathItem| {
            let taken = [
                ("GET", &item.get),
                ("POST", &item.post),
                ("PUT", &item.put),
                ("PATCH", &item.patch),
                ("DELETE", &item.delete),
            ];
            let names = taken.iter().filter(|(_, operation)| operation.is_some());
            names.map(|(name, _)| *name).collect::<Vec<_>>().join(", ")
        };
        let paths = openapi.paths.paths.iter();
        Self(
            paths
                .map(|(path, item)| (ResourceDef::new(path.as_str()), methods(item)))
                .collect(),
        )
    }
}

/// Anything that no route takes: 405 with the methods at a known address, else 404.
pub async fn nothing_here(request: HttpRequest, addresses: Data<Addresses>) -> HttpResponse {
    let mut found = addresses
        .0
        .iter()
        .filter(|(path, _)| path.is_match(request.path()));
    let Some((_, methods)) = found.next() else {
        return ApiError::new(&catalogue::NO_SUCH_THING).error_response();
    };
    let mut response = ApiError::new(&catalogue::NO_SUCH_METHOD).error_response();
    if let Ok(methods) = HeaderValue::from_str(methods) {
        response.headers_mut().insert(ALLOW, methods);
    }
    response
}
