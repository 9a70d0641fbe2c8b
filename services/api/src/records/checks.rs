//! `POST /v1/cases/{case}/checks`, `.../confirm` and `GET /v1/cases/{case}/checks`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::Nothing;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, Step, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CheckKind;
use lotwarden_store::records::{
    self as store, ConfirmCaseCheck, ConfirmCaseCheckRefusal, RecordCaseCheck,
    RecordCaseCheckRefusal,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A check or count.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseCheckBody {
    /// `sign_in`, `time_out`, `sign_out`, `initial_count` or `closing_count`.
    #[schema(value_type = String, example = "time_out", pattern = "^(sign_in|time_out|sign_out|initial_count|closing_count)$")]
    kind: CheckKind,
    /// Its lines, 1 to 50.
    #[schema(min_items = 1, max_items = 50)]
    lines: Vec<CaseCheckLine>,
}

/// One item of a check with its answer, or of a count with its number.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseCheckLine {
    /// What is asked or counted.
    #[schema(
        example = "Procedure and site confirmed",
        min_length = 1,
        max_length = 100
    )]
    item: String,
    /// The answer, for a count the number; never a patient's identity.
    #[schema(example = "yes", min_length = 1, max_length = 200)]
    answer: String,
}

impl Checked for CaseCheckBody {
    fn check(&self, errors: &mut Fields) {
        let count = (1..=50).contains(&self.lines.len());
        errors.require(count, "/lines", "must be 1 to 50");
        for (number, line) in self.lines.iter().enumerate() {
            errors.text(&format!("/lines/{number}/item"), &line.item, 1, 100);
            errors.text(&format!("/lines/{number}/answer"), &line.answer, 1, 200);
        }
    }
}

/// A check or count on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseCheck {
    /// The check.
    id: Uuid,
    /// Which.
    #[schema(value_type = String, example = "time_out")]
    kind: CheckKind,
    /// Its lines.
    lines: Vec<CaseCheckLine>,
    /// The first person.
    recorded: Step,
    /// The second person; none until one confirmed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    confirmed: Option<Step>,
}

impl From<&store::CaseCheck> for CaseCheck {
    fn from(check: &store::CaseCheck) -> Self {
        let lines = check.lines.iter().map(|line| CaseCheckLine {
            item: line.item.clone(),
            answer: line.answer.clone(),
        });
        Self {
            id: check.id,
            kind: check.kind,
            lines: lines.collect(),
            recorded: Step::from(&check.recorded),
            confirmed: check.confirmed.as_ref().map(Step::from),
        }
    }
}

impl From<RecordCaseCheckRefusal> for ApiError {
    fn from(refusal: RecordCaseCheckRefusal) -> Self {
        match refusal {
            RecordCaseCheckRefusal::Case(reason) => reason.into(),
            RecordCaseCheckRefusal::NotAPerson => {
                ApiError::new(&catalogue::FORBIDDEN).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

impl From<ConfirmCaseCheckRefusal> for ApiError {
    fn from(refusal: ConfirmCaseCheckRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            ConfirmCaseCheckRefusal::NoSuchCheck => ApiError::no_such("check on this case"),
            ConfirmCaseCheckRefusal::ConfirmedAlready => because(&catalogue::ALREADY_DONE),
            ConfirmCaseCheckRefusal::SamePerson => because(&catalogue::FORBIDDEN),
            ConfirmCaseCheckRefusal::Case(reason) => reason.into(),
        }
    }
}

/// Records a pause of the checklist or a count; a second person confirms it.
#[utoipa::path(
    operation_id = "record_case_check", tag = "records", request_body = CaseCheckBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Recorded, not confirmed.", body = CaseCheck), Refusals),
)]
#[post("/v1/cases/{case}/checks")]
pub(super) async fn record_case_check(
    allowed: Allowed<act::RecordCaseCheck>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<CaseCheckBody>,
) -> Result<HttpResponse, ApiError> {
    let lines = keyed
        .body
        .lines
        .into_iter()
        .map(|line| store::CaseCheckLine {
            answer: line.answer,
            item: line.item,
        });
    let operation = RecordCaseCheck {
        case: case.into_inner(),
        kind: keyed.body.kind,
        lines: lines.collect(),
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |check, receipt| render(StatusCode::CREATED, &CaseCheck::from(check), receipt, None),
    );
    Ok(reply(recorded.await?))
}

/// Confirms a check or count as the second person.
#[utoipa::path(
    operation_id = "confirm_case_check", tag = "records", request_body = Nothing,
    params(
        ("case" = Uuid, Path, description = "The case."),
        ("check" = Uuid, Path, description = "The check."),
        IdempotencyKey,
    ),
    responses((status = 200, description = "Confirmed.", body = CaseCheck), Refusals),
)]
#[post("/v1/cases/{case}/checks/{check}/confirm")]
pub(super) async fn confirm_case_check(
    allowed: Allowed<act::ConfirmCaseCheck>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let (case, check) = path.into_inner();
    let operation = ConfirmCaseCheck { case, check };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |check, receipt| render(StatusCode::OK, &CaseCheck::from(check), receipt, None),
    );
    Ok(reply(recorded.await?))
}

/// The checks of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseChecks {
    /// Oldest first.
    items: Vec<CaseCheck>,
    /// Items whose last confirmed closing count is not their last confirmed initial count.
    differences: Vec<CountDifference>,
}

/// An item that was counted differently at the end.
#[derive(Debug, Serialize, ToSchema)]
pub struct CountDifference {
    /// What was counted.
    item: String,
    /// At the start.
    #[serde(skip_serializing_if = "Option::is_none")]
    initial: Option<String>,
    /// At the end.
    #[serde(skip_serializing_if = "Option::is_none")]
    closing: Option<String>,
}

impl CaseChecks {
    fn of(checks: &[store::CaseCheck]) -> Self {
        let last = |kind: CheckKind| {
            let confirmed = checks
                .iter()
                .rev()
                .filter(|check| check.confirmed.is_some());
            let mut own = confirmed.filter(|check| check.kind == kind);
            own.next().map(|check| check.lines.as_slice())
        };
        let pair = last(CheckKind::InitialCount).zip(last(CheckKind::ClosingCount));
        let (initial, closing) = pair.unwrap_or_default();
        let of = |lines: &[store::CaseCheckLine], item: &str| {
            let line = lines.iter().find(|line| line.item == item);
            line.map(|line| line.answer.clone())
        };
        let mut items: Vec<&str> = initial
            .iter()
            .chain(closing)
            .map(|line| &*line.item)
            .collect();
        items.sort_unstable();
        items.dedup();
        let differences = items.into_iter().filter_map(|item| {
            let (initial, closing) = (of(initial, item), of(closing, item));
            (initial != closing).then(|| CountDifference {
                item: item.to_owned(),
                initial,
                closing,
            })
        });
        Self {
            differences: differences.collect(),
            items: checks.iter().map(CaseCheck::from).collect(),
        }
    }
}

/// Lists the checks of a case, and what was counted differently at the end.
#[utoipa::path(
    operation_id = "list_case_checks", tag = "records",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The checks.", body = CaseChecks), Refusals),
)]
#[get("/v1/cases/{case}/checks")]
pub(super) async fn list_case_checks(
    allowed: Allowed<act::ListCaseChecks>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let checks = store::list_case_checks(&mut reading, case.into_inner()).await?;
    let checks = checks.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(CaseChecks::of(&checks)))
}
