//! `POST /v1/sessions/refresh`

use super::browser;
use super::sessions::{NewSession, address, facility_of, hand_out, new_refresh_token, taken};
use super::tokens::ACCESS_SECONDS;
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, post};
use jiff::SignedDuration;
use lotwarden_domain::access::Grant;
use lotwarden_store::Request;
use lotwarden_store::access::{RefreshRefusal, RefreshSession, Refreshed, session_of, token_hash};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// The refresh token in hand.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefreshBody {
    /// The refresh token that came last; a browser leaves it out and sends its cookie.
    #[schema(value_type = Option<String>, min_length = 1, max_length = 200)]
    refresh_token: Option<Zeroizing<String>>,
}

impl Checked for RefreshBody {
    fn check(&self, errors: &mut Fields) {
        let token = self.refresh_token.as_ref();
        let fits = token.is_none_or(|token| (1..=200).contains(&token.len()));
        errors.require(fits, "/refresh_token", "must be 1 to 200 characters");
    }
}

impl From<RefreshRefusal> for ApiError {
    fn from(refusal: RefreshRefusal) -> Self {
        ApiError::new(&catalogue::NOT_SIGNED_IN).detail(sentence(&refusal.to_string()))
    }
}

/// Renews a session: the refresh token is exchanged for the next pair.
///
/// A token is good once. One that comes back was copied or lost on the way, so its session ends
/// and everybody who holds one of its tokens signs in again.
#[utoipa::path(
    operation_id = "refresh_session", tag = "access", request_body = RefreshBody, security(()),
    responses(
        (status = 201, description = "Renewed.", body = NewSession),
        Refusals,
    ),
)]
#[post("/v1/sessions/refresh")]
pub(super) async fn refresh_session(
    request: HttpRequest,
    app: Data<App>,
    body: Body<RefreshBody>,
) -> Result<HttpResponse, ApiError> {
    let not_valid = || ApiError::from(RefreshRefusal::NotValid);
    let browser = body.0.refresh_token.is_none();
    let cookie = || browser::refresh_token(&request).map(Zeroizing::new);
    let token = body.0.refresh_token.or_else(cookie).ok_or_else(not_valid)?;
    let facility = facility_of(&token).ok_or_else(not_valid)?;
    app.throttle.address(&address(&request))?;
    let hash = token_hash(&token);
    let person = session_of(app.database(), facility, hash)
        .await?
        .ok_or_else(not_valid)?;
    let next = new_refresh_token(facility);
    let operation = RefreshSession {
        hash,
        next_hash: token_hash(&next),
        access_lasts: SignedDuration::from_secs(ACCESS_SECONDS),
    };
    let grant = Grant::on_refresh_token(facility, person);
    let (outcome, render) = taken(Refreshed::clone);
    app.recorder
        .record(&grant, Request::default(), operation, render)
        .await?;
    match outcome.get() {
        Some(Refreshed::Renewed(session, person)) => {
            let tokens = hand_out(&app, facility, *session, person, next)?;
            Ok(browser::answer(tokens, browser))
        }
        Some(Refreshed::Reused) => {
            tracing::warn!("a refresh token came back after its use; its session was ended");
            app.ended.learn(&app.recorder, facility).await?;
            Err(not_valid())
        }
        None => Err(ApiError::new(&catalogue::INTERNAL)),
    }
}
