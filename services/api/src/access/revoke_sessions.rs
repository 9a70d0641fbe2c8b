//! `DELETE /v1/sessions`, `/v1/sessions/{session}` and `/v1/people/{person}/sessions`

use super::Allowed;
use super::sessions::unrendered;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, delete};
use lotwarden_domain::access::act;
use lotwarden_store::Request;
use lotwarden_store::access::{
    RevokePersonSessions, RevokeRefusal, RevokeSession, RevokeSessions, Which,
};
use lotwarden_store::recorder::Operation;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

impl From<RevokeRefusal> for ApiError {
    fn from(refusal: RevokeRefusal) -> Self {
        match refusal {
            RevokeRefusal::NoSuchPerson => ApiError::no_such("person"),
            RevokeRefusal::NoSuchSession => ApiError::no_such("open session"),
        }
    }
}

/// Which sessions of a person.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Chosen {
    /// The session to end; every one of the person unless told.
    session: Option<Uuid>,
}

/// Ends one of the caller's sessions; its tokens are worth nothing from then on.
#[utoipa::path(
    operation_id = "revoke_session", tag = "access",
    params(("session" = Uuid, Path, description = "The session.")),
    responses((status = 204, description = "Ended."), Refusals),
)]
// Ids only: words such as `current` stand at this place too, with other methods.
#[delete("/v1/sessions/{session:[0-9a-f]+-[0-9a-f-]+}")]
pub(super) async fn revoke_session(
    allowed: Allowed<act::RevokeSession>,
    app: Data<App>,
    session: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let operation = RevokeSession {
        person: allowed.caller.person,
        session: session.into_inner(),
    };
    end(&app, &allowed, operation).await
}

/// Ends every session of the caller but the one that asks.
#[utoipa::path(
    operation_id = "revoke_sessions", tag = "access",
    responses((status = 204, description = "Ended."), Refusals),
)]
#[delete("/v1/sessions")]
pub(super) async fn revoke_sessions(
    allowed: Allowed<act::RevokeSessions>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let operation = RevokeSessions {
        person: allowed.caller.person,
        session: allowed.caller.session,
    };
    end(&app, &allowed, operation).await
}

/// Ends a person's sessions, or one of them.
#[utoipa::path(
    operation_id = "revoke_person_sessions", tag = "access",
    params(("person" = Uuid, Path, description = "The person."), Chosen),
    responses((status = 204, description = "Ended."), Refusals),
)]
#[delete("/v1/people/{person}/sessions")]
pub(super) async fn revoke_person_sessions(
    allowed: Allowed<act::RevokePersonSessions>,
    app: Data<App>,
    person: Path<Uuid>,
    chosen: Query<Chosen>,
) -> Result<HttpResponse, ApiError> {
    let operation = RevokePersonSessions {
        person: person.into_inner(),
        which: chosen.session.map_or(Which::All, Which::One),
    };
    end(&app, &allowed, operation).await
}

/// Records that sessions ended, and counts their tokens for nothing from here on.
async fn end<O: Operation<Outcome = ()>>(
    app: &App,
    allowed: &Allowed<O::Permission>,
    operation: O,
) -> Result<HttpResponse, ApiError>
where
    ApiError: From<O::Refusal>,
{
    app.recorder
        .record(&allowed.grant, Request::default(), operation, unrendered)
        .await?;
    app.ended
        .learn(&app.recorder, allowed.caller.facility)
        .await?;
    Ok(HttpResponse::NoContent().finish())
}
