//! Sessions: what is handed out, who am I, and signing out.

use super::tokens::ACCESS_SECONDS;
use super::{Allowed, browser};
use crate::app::App;
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, delete, get};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use lotwarden_domain::access::{Caller, Grant, Role, act};
use lotwarden_store::access::{Credentials, Person, Session, SignIn, SignOut, token_hash};
use lotwarden_store::sealing::random_bytes;
use lotwarden_store::{Receipt, Rendered, Request};
use serde::Serialize;
use std::sync::{Arc, OnceLock};
use utoipa::ToSchema;
use uuid::Uuid;

/// A signed-in person.
#[derive(Debug, Serialize, ToSchema)]
pub struct SignedIn {
    /// The person.
    id: Uuid,
    /// The printed name.
    name: String,
    /// What the person is here for.
    #[schema(value_type = Vec<String>, example = json!(["circulator"]))]
    roles: Vec<Role>,
    /// The facility.
    facility: Uuid,
}

/// Who is signed in, and where.
#[derive(Debug, Serialize, ToSchema)]
pub struct SessionShown {
    /// The person.
    #[serde(flatten)]
    person: SignedIn,
    /// The session.
    session_id: Uuid,
    /// The facility's name.
    facility_name: String,
    /// The facility's time zone, from the IANA time zone database: decides its days.
    #[schema(example = "Europe/Lisbon")]
    time_zone: String,
}

/// The tokens of a session.
#[derive(Debug, Serialize, ToSchema)]
pub struct NewSession {
    /// Send it as `Authorization: Bearer`. A browser has it in a cookie instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) access_token: Option<String>,
    /// `Bearer`.
    token_type: &'static str,
    /// Seconds the access token is good for.
    #[schema(example = 600)]
    expires_in: i64,
    /// Gets the next pair, once; one that comes back a second time ends the session. A browser has
    /// it in a cookie instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) refresh_token: Option<String>,
    /// The session; scans that a station holds name it when they are delivered.
    session_id: Uuid,
    /// Who signed in.
    person: SignedIn,
}

/// A refresh token names its facility, so that it can be looked up in there and nowhere else.
pub(super) fn new_refresh_token(facility: Uuid) -> String {
    let secret = URL_SAFE_NO_PAD.encode(random_bytes::<32>());
    format!("{}.{secret}", URL_SAFE_NO_PAD.encode(facility.as_bytes()))
}

/// The facility a refresh token names.
pub(super) fn facility_of(token: &str) -> Option<Uuid> {
    let (facility, _) = token.split_once('.')?;
    Uuid::from_slice(&URL_SAFE_NO_PAD.decode(facility).ok()?).ok()
}

/// The peer's address, for throttling only.
pub(super) fn address(request: &HttpRequest) -> String {
    request
        .peer_addr()
        .map(|peer| peer.ip().to_string())
        .unwrap_or_default()
}

/// Opens a session for verified credentials.
pub(super) async fn open(app: &App, found: &Credentials) -> Result<NewSession, ApiError> {
    let refresh_token = new_refresh_token(found.facility);
    let operation = SignIn {
        person: found.person.id,
        refresh_hash: token_hash(&refresh_token),
    };
    let grant = Grant::on_credentials(found.facility, found.person.id);
    let (session, render) = taken(|session: &Session| *session);
    app.recorder
        .record(&grant, Request::default(), operation, render)
        .await?;
    let session = session
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    hand_out(app, found.facility, *session, &found.person, refresh_token)
}

/// Signs the access token that goes with a refresh token.
pub(super) fn hand_out(
    app: &App,
    facility: Uuid,
    session: Session,
    person: &Person,
    refresh_token: String,
) -> Result<NewSession, ApiError> {
    let roles = person.roles.clone();
    let caller = Caller {
        person: person.id,
        facility,
        session: session.id,
        roles,
    };
    let access_token = app.tokens.sign(&caller, app.recorder.clock().now());
    let access_token = access_token.ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    Ok(NewSession {
        access_token: Some(access_token),
        token_type: "Bearer",
        expires_in: ACCESS_SECONDS,
        refresh_token: Some(refresh_token),
        session_id: session.id,
        person: SignedIn {
            id: person.id,
            name: person.name.clone(),
            roles: caller.roles,
            facility,
        },
    })
}

/// A render that keeps the outcome for the caller: secrets are never kept with a request's key.
pub(super) fn taken<O: 'static, T: Send + Sync + 'static>(
    take: impl Fn(&O) -> T + Send + Sync + 'static,
) -> (
    Arc<OnceLock<T>>,
    impl Fn(&O, Receipt) -> Rendered + Send + Sync + 'static,
) {
    let cell = Arc::new(OnceLock::new());
    let kept = Arc::clone(&cell);
    let render = move |outcome: &O, receipt: Receipt| {
        let _ = kept.set(take(outcome));
        unrendered(&(), receipt)
    };
    (cell, render)
}

/// A render for answers that are made elsewhere.
pub(super) fn unrendered(_: &(), _: Receipt) -> Rendered {
    Rendered {
        status: 204,
        body: Vec::new(),
        etag: None,
    }
}

/// Shows who the caller is.
#[utoipa::path(
    operation_id = "show_session", tag = "access",
    responses(
        (status = 200, description = "The caller.", body = SessionShown),
        Refusals,
    ),
)]
#[get("/v1/sessions/current")]
pub(super) async fn show_session(
    allowed: Allowed<act::ShowSession>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let caller = allowed.caller;
    let mut reading = app.reading(caller.facility).await?;
    let person = lotwarden_store::access::show(&mut reading, caller.person).await?;
    let person = person.ok_or_else(|| ApiError::new(&catalogue::NOT_SIGNED_IN))?;
    let facility = lotwarden_store::facilities::show(app.database(), caller.facility).await?;
    Ok(HttpResponse::Ok().json(SessionShown {
        person: SignedIn {
            id: person.id,
            name: person.name,
            roles: caller.roles,
            facility: caller.facility,
        },
        session_id: caller.session,
        facility_name: facility.name,
        time_zone: facility.zone.iana_name().unwrap_or("UTC").to_owned(),
    }))
}

/// Signs out: the session's refresh tokens are worth nothing from then on.
#[utoipa::path(
    operation_id = "sign_out", tag = "access",
    responses(
        (status = 204, description = "Signed out."),
        Refusals,
    ),
)]
#[delete("/v1/sessions/current")]
pub(super) async fn sign_out(
    allowed: Allowed<act::SignOut>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let Caller {
        person,
        session,
        facility,
        ..
    } = allowed.caller;
    let operation = SignOut { person, session };
    app.recorder
        .record(&allowed.grant, Request::default(), operation, unrendered)
        .await?;
    app.ended.learn(&app.recorder, facility).await?;
    Ok(browser::forgotten())
}
