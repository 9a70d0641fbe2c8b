//! `GET /v1/tasks` and `POST /v1/tasks/{task}/settle`

use super::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_store::access::{self as store, SettleTaskRefusal, TaskKind};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Something that waits for a person.
#[derive(Debug, Serialize, ToSchema)]
pub struct Task {
    /// The task: the id of the scan or of the emergency access.
    id: Uuid,
    /// `held_scan_stopped`: a held scan turned out to be a stop, and the item may have been used
    /// meanwhile; settle it. `emergency_access`: review it.
    #[schema(example = "held_scan_stopped")]
    kind: &'static str,
    /// The case.
    case_id: Uuid,
    /// Who took emergency access.
    #[serde(skip_serializing_if = "Option::is_none")]
    person_id: Option<Uuid>,
    /// When it was raised.
    #[schema(format = DateTime)]
    raised_at: String,
}

impl From<store::Task> for Task {
    fn from(task: store::Task) -> Self {
        let (kind, person_id) = match task.kind {
            TaskKind::HeldScanStopped => ("held_scan_stopped", None),
            TaskKind::EmergencyAccess { person } => ("emergency_access", Some(person)),
        };
        Self {
            id: task.id,
            kind,
            case_id: task.case,
            person_id,
            raised_at: instant_text(task.raised_at),
        }
    }
}

/// What was done.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Settlement {
    /// What was done about it.
    #[schema(
        example = "The practitioner was told; the piece had not been opened.",
        min_length = 3,
        max_length = 500
    )]
    note: String,
}

impl Checked for Settlement {
    fn check(&self, errors: &mut Fields) {
        errors.text("/note", &self.note, 3, 500);
    }
}

/// A task that is settled.
#[derive(Debug, Serialize, ToSchema)]
pub struct Settled {
    /// The task.
    id: Uuid,
}

impl From<SettleTaskRefusal> for ApiError {
    fn from(refusal: SettleTaskRefusal) -> Self {
        match refusal {
            SettleTaskRefusal::NoSuchTask => ApiError::no_such("task"),
            SettleTaskRefusal::SettledAlready => ApiError::new(&catalogue::ALREADY_DONE),
        }
    }
}

/// Lists what waits for a person, in the order it was raised.
#[utoipa::path(
    operation_id = "list_tasks", tag = "access", params(Paging),
    responses((status = 200, description = "A page of open tasks.", body = List<Task>), Refusals),
)]
#[get("/v1/tasks")]
pub(super) async fn list_tasks(
    allowed: Allowed<act::ListTasks>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_tasks(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, Task::from)))
}

/// Settles a held scan that turned out to be a stop, with what was done about it.
#[utoipa::path(
    operation_id = "settle_task", tag = "access", request_body = Settlement,
    params(("task" = Uuid, Path, description = "The task."), IdempotencyKey),
    responses((status = 201, description = "Settled.", body = Settled), Refusals),
)]
#[post("/v1/tasks/{task}/settle")]
pub(super) async fn settle_task(
    allowed: Allowed<act::SettleTask>,
    app: Data<App>,
    task: Path<Uuid>,
    keyed: Keyed<Settlement>,
) -> Result<HttpResponse, ApiError> {
    let id = task.into_inner();
    let operation = store::SettleTask {
        scan: id,
        note: keyed.body.note,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |(), receipt| render(StatusCode::CREATED, &Settled { id }, receipt, None),
    );
    Ok(reply(recorded.await?))
}
