//! The work on a notice: its tasks, what is done, and its closing.

mod answer_notice;
mod change_notice_task;
mod check_effectiveness;
mod close_notice;
mod count_stock;
mod explain_difference;
mod link_event;
mod list_notice_tasks;
mod record_check;
mod record_disclosure;
mod record_disposal;
mod record_outreach;
mod review_patient;
mod show_answer;
mod show_work;
mod write_letter;

use crate::http::answer::render;
use crate::problem::{ApiError, FieldError, catalogue, sentence};
use actix_web::http::StatusCode;
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::work::{NoticeEvent, Recorded, WorkRefusal};
use lotwarden_store::{Receipt, Rendered};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of the work.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(list_notice_tasks::list_notice_tasks)
        .service(change_notice_task::change_notice_task)
        .service(show_work::show_work)
        .service(count_stock::count_stock)
        .service(record_disposal::record_disposal)
        .service(explain_difference::explain_difference)
        .service(review_patient::review_patient)
        .service(record_outreach::record_outreach)
        .service(check_effectiveness::check_effectiveness)
        .service(record_check::record_check)
        .service(answer_notice::answer_notice)
        .service(show_answer::show_answer)
        .service(write_letter::write_letter)
        .service(record_disclosure::record_disclosure)
        .service(record_disclosure::list_notice_disclosures)
        .service(record_disclosure::list_patient_disclosures)
        .service(link_event::link_event)
        .service(close_notice::close_notice);
}

/// Something that was done for a notice.
#[derive(Debug, Serialize, ToSchema)]
pub struct WorkEvent {
    /// The event.
    id: Uuid,
    /// `count`, `disposal`, `explanation`, `review`, `outreach`, `letter`, `disclosure`,
    /// `adverse_event`, `sample`, `check`, `answer` or `signature`.
    #[schema(example = "count")]
    kind: String,
    /// The lot.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    /// The patient, by id.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient_id: Option<Uuid>,
    /// What was recorded.
    said: serde_json::Value,
    /// Who.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

impl From<&NoticeEvent> for WorkEvent {
    fn from(event: &NoticeEvent) -> Self {
        Self {
            id: event.id,
            kind: event.kind.clone(),
            lot_id: event.lot,
            patient_id: event.patient,
            said: event.body.clone(),
            by: event.actor.clone(),
            at: instant_text(event.at),
        }
    }
}

/// Something that was just done for a notice.
#[derive(Debug, Serialize, ToSchema)]
pub struct WorkRecorded {
    /// The first notice of the matter.
    notice_id: Uuid,
    /// What was recorded.
    #[serde(flatten)]
    event: WorkEvent,
}

impl From<&Recorded> for WorkRecorded {
    fn from(recorded: &Recorded) -> Self {
        Self {
            notice_id: recorded.notice,
            event: (&recorded.event).into(),
        }
    }
}

/// The answer to a step of the work that is on record.
fn on_record(recorded: &Recorded, receipt: Receipt) -> Rendered {
    let answer = WorkRecorded::from(recorded);
    render(StatusCode::CREATED, &answer, receipt, None)
}

impl From<WorkRefusal> for ApiError {
    fn from(refusal: WorkRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let because = |problem| ApiError::new(problem).detail(detail.clone());
        let field =
            |pointer: &str| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            WorkRefusal::NoSuchNotice => ApiError::no_such("notice"),
            WorkRefusal::NotInForce | WorkRefusal::Closed => because(&catalogue::NOTICE_STATE),
            WorkRefusal::Stale => ApiError::new(&catalogue::STALE),
            WorkRefusal::NoSuchLot => field("/lot_id"),
            WorkRefusal::NoSuchPatient | WorkRefusal::NotDrawn => field("/patient_id"),
            WorkRefusal::InFuture => field("/disclosed_on"),
            WorkRefusal::NoSuchEvent | WorkRefusal::EventNotReached => field("/event_id"),
            WorkRefusal::LinkedAlready => because(&catalogue::ALREADY_DONE),
            WorkRefusal::NotOnShelf => because(&catalogue::NOT_ON_SHELF),
            WorkRefusal::NoWitness => field("/witness_id"),
            WorkRefusal::WrongCount => field("/checks"),
            WorkRefusal::NotAPerson => because(&catalogue::FORBIDDEN),
            WorkRefusal::NothingToExplain => because(&catalogue::DIFFERS),
            WorkRefusal::NotToBeTold
            | WorkRefusal::NotReviewed
            | WorkRefusal::TasksOpen
            | WorkRefusal::NotReconciled
            | WorkRefusal::SecondPerson => because(&catalogue::WORK_OPEN),
        }
    }
}
