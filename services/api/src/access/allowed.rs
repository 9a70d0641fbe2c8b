//! The first argument of every handler: who asks, and the grant that asking is allowed.

use super::browser;
use super::tokens::TokenError;
use crate::app::App;
use crate::problem::{ApiError, catalogue};
use actix_web::dev::Payload;
use actix_web::http::header::AUTHORIZATION;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpMessage, HttpRequest};
use lotwarden_domain::access::{Caller, Grant, Permission};
use std::future::{Ready, ready};

/// A caller whose roles hold the action `A`.
#[derive(Debug)]
pub struct Allowed<A: Permission> {
    /// Who asks.
    pub caller: Caller,
    /// The proof for the recorder.
    pub grant: Grant<A>,
}

impl<A: Permission> FromRequest for Allowed<A> {
    type Error = ApiError;
    type Future = Ready<Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        ready(allowed(request))
    }
}

fn allowed<A: Permission>(request: &HttpRequest) -> Result<Allowed<A>, ApiError> {
    let caller = caller(request)?;
    let grant = match Grant::to(&caller) {
        Err(_) if in_emergency(request, &caller) => Grant::in_emergency(&caller)?,
        grant => grant?,
    };
    Ok(Allowed { caller, grant })
}

/// Whether the caller has emergency access to the case in the path.
fn in_emergency(request: &HttpRequest, caller: &Caller) -> bool {
    let case = request.match_info().get("case");
    let case = case.and_then(|case| case.parse().ok());
    let (Some(case), Some(app)) = (case, request.app_data::<Data<App>>()) else {
        return false;
    };
    let now = app.recorder.clock().now();
    app.emergencies.holds(caller.person, case, now)
}

/// Reads the caller from the bearer token (RFC 6750, 2.1) or, without one, from a browser's cookie.
fn caller(request: &HttpRequest) -> Result<Caller, ApiError> {
    let header = request
        .headers()
        .get(AUTHORIZATION)
        .and_then(|header| header.to_str().ok());
    let token = header.and_then(|header| {
        let (scheme, token) = header.split_once(' ')?;
        scheme
            .eq_ignore_ascii_case("bearer")
            .then(|| token.trim().to_owned())
    });
    let token = token.or_else(|| browser::access_token(request));
    let app = request.app_data::<Data<App>>();
    let (Some(token), Some(app)) = (token, app) else {
        return Err(ApiError::new(&catalogue::NOT_SIGNED_IN));
    };
    let caller = app
        .tokens
        .caller(&token, app.recorder.clock().now())
        .map_err(|error| {
            let detail = match error {
                TokenError::Expired => "The access token is over.",
                TokenError::NotOurs => "The access token is not one of this service.",
            };
            ApiError::new(&catalogue::NOT_SIGNED_IN).detail(detail)
        })?;
    if app.ended.contains(caller.session) {
        let detail = "The session was ended; sign in again.";
        return Err(ApiError::new(&catalogue::NOT_SIGNED_IN).detail(detail));
    }
    let (allowance, within) = app.throttle.request(caller.person);
    request.extensions_mut().insert(allowance);
    within?;
    // For the request's log line and span; identifiers only.
    request.extensions_mut().insert(caller.clone());
    Ok(caller)
}
