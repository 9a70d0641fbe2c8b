//! `PUT /v1/notice-tasks/{task}`

use super::list_notice_tasks::NoticeTask;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use jiff::Timestamp;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::TaskState;
use lotwarden_store::notices::work::{ChangeNoticeTask, ChangeNoticeTaskRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A task's new state.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TaskBody {
    /// Who does it.
    #[serde(default)]
    owner_id: Option<Uuid>,
    /// Until when.
    #[schema(value_type = String, format = DateTime)]
    due_at: Timestamp,
    /// `open`, `done` or `not_needed`.
    #[schema(value_type = String, example = "done", pattern = "^(open|done|not_needed)$")]
    state: TaskState,
    /// What there is to remark; a task that is not needed says why.
    #[serde(default)]
    #[schema(
        example = "Nothing of these lots was on the shelf",
        min_length = 3,
        max_length = 500
    )]
    remark: Option<String>,
}

impl Checked for TaskBody {
    fn check(&self, errors: &mut Fields) {
        if let Some(remark) = &self.remark {
            errors.text("/remark", remark, 3, 500);
        }
        let day = self.due_at.to_zoned(jiff::tz::TimeZone::UTC).date();
        errors.day("/due_at", Some(day));
        let said = self.state != TaskState::NotNeeded || self.remark.is_some();
        errors.require(said, "/remark", "must say why the task is not needed");
    }
}

impl From<ChangeNoticeTaskRefusal> for ApiError {
    fn from(refusal: ChangeNoticeTaskRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            ChangeNoticeTaskRefusal::NoSuchTask => ApiError::no_such("task"),
            ChangeNoticeTaskRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangeNoticeTaskRefusal::NoSuchPerson => {
                ApiError::fields(vec![FieldError::new("/owner_id", detail)])
            }
            ChangeNoticeTaskRefusal::Closing => ApiError::new(&catalogue::WORK_OPEN).detail(detail),
        }
    }
}

/// Puts a task's owner, due time and state anew.
#[utoipa::path(
    operation_id = "change_notice_task", tag = "notices", request_body = TaskBody,
    params(("task" = Uuid, Path, description = "The task."), Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = NoticeTask), Refusals),
)]
#[put("/v1/notice-tasks/{task}")]
pub(super) async fn change_notice_task(
    allowed: Allowed<act::ChangeNoticeTask>,
    app: Data<App>,
    task: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<TaskBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = ChangeNoticeTask {
        id: task.into_inner(),
        version: version.0,
        owner: body.owner_id,
        due_at: body.due_at,
        state: body.state,
        remark: body.remark,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |task, receipt| {
                let version = Some(task.version);
                render(StatusCode::OK, &NoticeTask::from(task), receipt, version)
            });
    Ok(reply(recorded.await?))
}
