//! `POST /v1/cases/{case}/events` and `GET /v1/events`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::deadlines::{
    Clock, Event, FacilityStatus, Recipient, Reporting, Rule, after_work_days, reporting,
};
use lotwarden_store::moment::instant_text;
use lotwarden_store::records::{self as store, NewEvent, OpenEvent, OpenEventRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// An adverse event on a case.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EventBody {
    /// `death`, `serious_injury` or `malfunction`.
    #[schema(value_type = String, example = "serious_injury", pattern = "^(death|serious_injury|malfunction)$")]
    event: Event,
    /// The day it happened.
    #[schema(value_type = String, format = Date)]
    happened_on: Date,
    /// The day medical personnel of the facility became aware of it (21 CFR 803.3(b)(1)).
    #[schema(value_type = String, format = Date)]
    aware_on: Date,
    /// The scan of the device.
    device_scan_id: Option<Uuid>,
    /// The manufacturer, when it is known.
    #[schema(min_length = 1, max_length = 200)]
    manufacturer: Option<String>,
    /// The code of the patient's problem (Form 3500A, block F10).
    #[schema(min_length = 1, max_length = 20)]
    patient_problem_code: Option<String>,
    /// The code of the device's problem (Form 3500A, block F10).
    #[schema(min_length = 1, max_length = 20)]
    device_problem_code: Option<String>,
    /// Why it is, or is not, reported (21 CFR 803.18(b)); never a patient's identity.
    #[schema(min_length = 3, max_length = 1000)]
    deliberation: String,
}

impl Checked for EventBody {
    fn check(&self, errors: &mut Fields) {
        let order = self.aware_on >= self.happened_on;
        errors.require(order, "/aware_on", "must not be before the event");
        for (pointer, text, most) in [
            ("/manufacturer", &self.manufacturer, 200),
            ("/patient_problem_code", &self.patient_problem_code, 20),
            ("/device_problem_code", &self.device_problem_code, 20),
        ] {
            if let Some(text) = text {
                errors.text(pointer, text, 1, most);
            }
        }
        errors.text("/deliberation", &self.deliberation, 3, 1000);
    }
}

/// The file of an event with what the rule asks of the facility.
#[derive(Debug, Serialize, ToSchema)]
pub struct AdverseEvent {
    /// The file.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// What happened.
    #[schema(value_type = String, example = "serious_injury")]
    event: Event,
    /// The day it happened.
    #[schema(value_type = String, format = Date)]
    happened_on: Date,
    /// The day the facility became aware.
    #[schema(value_type = String, format = Date)]
    aware_on: Date,
    /// The scan of the device.
    #[serde(skip_serializing_if = "Option::is_none")]
    device_scan_id: Option<Uuid>,
    /// The manufacturer.
    #[serde(skip_serializing_if = "Option::is_none")]
    manufacturer: Option<String>,
    /// The code of the patient's problem.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient_problem_code: Option<String>,
    /// The code of the device's problem.
    #[serde(skip_serializing_if = "Option::is_none")]
    device_problem_code: Option<String>,
    /// Why it is, or is not, reported.
    deliberation: String,
    /// What the facility was decided to be; none where nobody had decided.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "user_facility")]
    facility_status: Option<FacilityStatus>,
    /// `required`, `voluntary`, or `cannot_be_computed` while nobody decided what the facility is.
    #[schema(example = "required")]
    report: &'static str,
    /// Who gets a required report.
    #[schema(value_type = Vec<String>)]
    recipients: Vec<Recipient>,
    /// The last day in time for a required report: ten work days after the day of awareness.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    due_on: Option<Date>,
    /// Where the time is from.
    #[schema(value_type = String)]
    source: &'static str,
    /// Who opened the file.
    opened_by: String,
    /// When.
    #[schema(format = DateTime)]
    opened_at: String,
}

impl From<&store::AdverseEvent> for AdverseEvent {
    fn from(file: &store::AdverseEvent) -> Self {
        let new = &file.new;
        let rule = Rule::UserFacilityReport;
        let known = new.manufacturer.is_some();
        let asked = file
            .status
            .map(|status| reporting(status, new.event, known));
        let (report, recipients) = match asked {
            Some(Reporting::Required(recipients)) => ("required", recipients),
            Some(Reporting::Voluntary) => ("voluntary", Vec::new()),
            None => ("cannot_be_computed", Vec::new()),
        };
        let due_on = match rule.clock() {
            Clock::WorkDays(days) if !recipients.is_empty() => {
                Some(after_work_days(new.aware_on, days).due_on)
            }
            Clock::WorkDays(_) | Clock::CalendarDays(_) => None,
        };
        Self {
            id: file.id,
            case_id: new.case,
            event: new.event,
            happened_on: new.happened_on,
            aware_on: new.aware_on,
            device_scan_id: new.device,
            manufacturer: new.manufacturer.clone(),
            patient_problem_code: new.patient_problem_code.clone(),
            device_problem_code: new.device_problem_code.clone(),
            deliberation: new.deliberation.clone(),
            facility_status: file.status,
            report,
            recipients,
            due_on,
            source: rule.source(),
            opened_by: file.by.clone(),
            opened_at: instant_text(file.at),
        }
    }
}

impl From<OpenEventRefusal> for ApiError {
    fn from(refusal: OpenEventRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, &detail)]);
        match refusal {
            OpenEventRefusal::NoSuchCase => ApiError::no_such("case"),
            OpenEventRefusal::NoSuchScan => field("/device_scan_id"),
            OpenEventRefusal::InFuture => field("/aware_on"),
        }
    }
}

/// Opens the file of an adverse event. The answer says what 21 CFR 803 asks of the facility as it
/// was decided to be, and by when.
#[utoipa::path(
    operation_id = "open_event", tag = "records", request_body = EventBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "On file.", body = AdverseEvent), Refusals),
)]
#[post("/v1/cases/{case}/events")]
pub(super) async fn open_event(
    allowed: Allowed<act::OpenEvent>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<EventBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let new = NewEvent {
        aware_on: body.aware_on,
        case: case.into_inner(),
        deliberation: body.deliberation,
        device: body.device_scan_id,
        device_problem_code: body.device_problem_code,
        event: body.event,
        happened_on: body.happened_on,
        manufacturer: body.manufacturer,
        patient_problem_code: body.patient_problem_code,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        OpenEvent { new },
        |file, receipt| {
            render(
                StatusCode::CREATED,
                &AdverseEvent::from(file),
                receipt,
                None,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// Lists event files in the order they were opened.
#[utoipa::path(
    operation_id = "list_events", tag = "records", params(Paging),
    responses((status = 200, description = "A page of files.", body = List<AdverseEvent>), Refusals),
)]
#[get("/v1/events")]
pub(super) async fn list_events(
    allowed: Allowed<act::ListEvents>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_events(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |file| AdverseEvent::from(&file))))
}
