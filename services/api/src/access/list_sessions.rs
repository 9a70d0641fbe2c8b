//! `GET /v1/sessions` and `GET /v1/people/{person}/sessions`

use super::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::access::{self as store, show};
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// An open session.
#[derive(Debug, Serialize, ToSchema)]
pub struct OpenSession {
    /// The session.
    id: Uuid,
    /// Whether it is the one that asks.
    current: bool,
    /// The paired station it was started at.
    #[serde(skip_serializing_if = "Option::is_none")]
    station: Option<Station>,
    /// When it was started.
    #[schema(format = DateTime)]
    started_at: String,
    /// When it was started or renewed last; in use, a session is renewed every ten minutes.
    #[schema(format = DateTime)]
    renewed_at: String,
    /// When it ends at the latest.
    #[schema(format = DateTime)]
    ends_at: String,
}

/// Where.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = SessionStation)]
struct Station {
    /// The station.
    id: Uuid,
    /// Its name.
    #[schema(example = "Room 2, setup table")]
    name: String,
}

fn shown(session: store::OpenSession, current: Uuid) -> OpenSession {
    let station = session.station;
    OpenSession {
        id: session.id,
        current: session.id == current,
        station: station.map(|(id, name)| Station { id, name }),
        started_at: instant_text(session.started_at),
        renewed_at: instant_text(session.renewed_at),
        ends_at: instant_text(session.ends_at),
    }
}

/// Lists the caller's open sessions.
#[utoipa::path(
    operation_id = "list_sessions", tag = "access", params(Paging),
    responses((status = 200, description = "A page of sessions.", body = List<OpenSession>), Refusals),
)]
#[get("/v1/sessions")]
pub(super) async fn list_sessions(
    allowed: Allowed<act::ListSessions>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let caller = allowed.caller;
    let now = app.recorder.clock().now();
    let mut reading = app.reading(caller.facility).await?;
    let page = store::list_sessions(&mut reading, caller.person, now, paging.after()?).await?;
    let shown = |session: store::OpenSession| shown(session, caller.session);
    Ok(HttpResponse::Ok().json(List::of(page, shown)))
}

/// Lists a person's open sessions.
#[utoipa::path(
    operation_id = "list_person_sessions", tag = "access",
    params(("person" = Uuid, Path, description = "The person."), Paging),
    responses((status = 200, description = "A page of sessions.", body = List<OpenSession>), Refusals),
)]
#[get("/v1/people/{person}/sessions")]
pub(super) async fn list_person_sessions(
    allowed: Allowed<act::ListPersonSessions>,
    app: Data<App>,
    person: Path<Uuid>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let caller = allowed.caller;
    let now = app.recorder.clock().now();
    let mut reading = app.reading(caller.facility).await?;
    let person = show(&mut reading, person.into_inner()).await?;
    let person = person.ok_or_else(|| ApiError::no_such("person"))?;
    let page = store::list_sessions(&mut reading, person.id, now, paging.after()?).await?;
    let shown = |session: store::OpenSession| shown(session, caller.session);
    Ok(HttpResponse::Ok().json(List::of(page, shown)))
}
