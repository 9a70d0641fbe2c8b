//! `GET /v1/notice-tasks`

use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{TaskKind, TaskState};
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::work::{self as store, TaskFilter};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which tasks.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those in this state: `open`, `done` or `not_needed`.
    #[param(value_type = Option<String>, pattern = "^(open|done|not_needed)$")]
    state: Option<TaskState>,
    /// Only those of this person.
    owner_id: Option<Uuid>,
    /// True for open ones whose due time is over.
    overdue: Option<bool>,
}

/// A task of a notice.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeTask {
    /// The task.
    id: Uuid,
    /// The first notice of the matter.
    notice_id: Uuid,
    /// `quarantine`, `patient_review`, `outreach`, `disposal`, `effectiveness`, `answer` or
    /// `closing`.
    #[schema(value_type = String, example = "quarantine")]
    kind: TaskKind,
    /// Who does it.
    #[serde(skip_serializing_if = "Option::is_none")]
    owner_id: Option<Uuid>,
    /// Until when.
    #[schema(format = DateTime)]
    due_at: String,
    /// `open`, `done` or `not_needed`.
    #[schema(value_type = String, example = "open")]
    state: TaskState,
    /// Who ended it.
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    ended_at: Option<String>,
    /// What was remarked.
    #[serde(skip_serializing_if = "Option::is_none")]
    remark: Option<String>,
    /// Counts the changes; the entity tag.
    version: i32,
}

impl From<&store::Task> for NoticeTask {
    fn from(task: &store::Task) -> Self {
        let (ended_by, ended_at) = task.ended.clone().unzip();
        Self {
            id: task.id,
            notice_id: task.notice,
            kind: task.kind,
            owner_id: task.owner,
            due_at: instant_text(task.due_at),
            state: task.state,
            ended_by,
            ended_at: ended_at.map(instant_text),
            remark: task.remark.clone(),
            version: task.version,
        }
    }
}

/// Lists tasks of notices in the order they were made.
#[utoipa::path(
    operation_id = "list_notice_tasks", tag = "notices", params(Which, Paging),
    responses((status = 200, description = "A page of tasks.", body = List<NoticeTask>), Refusals),
)]
#[get("/v1/notice-tasks")]
pub(super) async fn list_notice_tasks(
    allowed: Allowed<act::ListNoticeTasks>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let overdue = which.overdue.unwrap_or_default();
    let filter = TaskFilter {
        state: which.state,
        owner: which.owner_id,
        due_before: overdue.then(|| app.recorder.clock().now()),
    };
    let page = store::list_notice_tasks(&mut reading, filter, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |task| NoticeTask::from(&task))))
}
