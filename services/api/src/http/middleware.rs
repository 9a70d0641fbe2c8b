//! Around every request: its id, one log line, metrics, and the headers every answer carries.

use crate::access::throttle::Allowance;
use actix_web::body::MessageBody;
use actix_web::dev::{ServiceRequest, ServiceResponse};
use actix_web::http::header::{HeaderName, HeaderValue};
use actix_web::middleware::Next;
use actix_web::{Error, HttpMessage};
use lotwarden_domain::access::Caller;
use std::time::Instant;
use tracing::Instrument;
use uuid::Uuid;

/// Headers of every answer: nothing is cached, framed, sniffed or loaded from elsewhere.
const HEADERS: [(&str, &str); 6] = [
    ("cache-control", "no-store"),
    (
        "content-security-policy",
        "default-src 'self'; frame-ancestors 'none'; base-uri 'none'; form-action 'self'",
    ),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
];

/// A browser that was here over TLS comes back over TLS only (RFC 6797); over plain HTTP the header
/// must not be sent (7.2), and behind a proxy it is the proxy's.
const OVER_TLS: (&str, &str) = ("strict-transport-security", "max-age=31536000");

/// Handles one request. The log line has the route's pattern, never the address itself or a body.
///
/// # Errors
/// What the service inside answers with.
pub async fn around<B: MessageBody + 'static>(
    request: ServiceRequest,
    next: Next<B>,
) -> Result<ServiceResponse<impl MessageBody>, Error> {
    let started = Instant::now();
    let id = Uuid::new_v4();
    let method = request.method().clone();
    let span = tracing::info_span!("request", %id);
    let result = next.call(request).instrument(span.clone()).await;
    let mut response = result?;
    let status = response.status();
    let route = response
        .request()
        .match_pattern()
        .unwrap_or_else(|| "none".to_owned());
    let seconds = started.elapsed().as_secs_f64();
    let caller = response
        .request()
        .extensions()
        .get::<Caller>()
        .map(|caller| caller.person);
    span.in_scope(|| {
        let person = caller.map(|id| id.to_string()).unwrap_or_default();
        let milliseconds = seconds * 1000.0;
        tracing::info!(%method, route, status = status.as_u16(), milliseconds, person, "answered");
    });
    let labels = [
        ("method", method.to_string()),
        ("route", route),
        ("status", status.as_u16().to_string()),
    ];
    metrics::histogram!("lotwarden_request_seconds", &labels).record(seconds);
    let allowance = response.request().extensions().get::<Allowance>().copied();
    let over_tls = response.request().app_config().secure();
    let headers = response.headers_mut();
    let more = over_tls.then_some(OVER_TLS);
    for (name, value) in HEADERS.into_iter().chain(more) {
        let name = HeaderName::from_static(name);
        if !headers.contains_key(&name) {
            headers.insert(name, HeaderValue::from_static(value));
        }
    }
    if let Some(allowance) = allowance {
        for (name, value) in [
            ("ratelimit-policy", allowance.policy()),
            ("ratelimit", allowance.left()),
        ] {
            if let Ok(value) = HeaderValue::from_str(&value) {
                headers.insert(HeaderName::from_static(name), value);
            }
        }
    }
    if let Ok(id) = HeaderValue::from_str(&id.to_string()) {
        headers.insert(HeaderName::from_static("x-request-id"), id);
    }
    Ok(response)
}
