//! `POST` and `GET /v1/follow-up-rules`, `GET /v1/follow-ups` and `POST /v1/cases/{case}/follow-ups`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::Page;
use lotwarden_store::records::{
    self as store, AddFollowUpRule, AddFollowUpRuleRefusal, RecordFollowUp, RecordFollowUpRefusal,
    WhichFollowUps,
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// A follow-up of the site's list.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FollowUpRuleBody {
    /// What the site calls it, one of a kind.
    #[schema(example = "Next-day call", min_length = 1, max_length = 100)]
    name: String,
    /// Days after a completed case.
    #[schema(example = 1, maximum = 3650)]
    days: u16,
    /// Where the site has it from.
    #[schema(example = "Site policy 31", min_length = 3, max_length = 200)]
    source: String,
}

impl Checked for FollowUpRuleBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
        errors.require(self.days <= 3650, "/days", "must be 0 to 3650");
        errors.text("/source", &self.source, 3, 200);
    }
}

/// A follow-up on the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct FollowUpRule {
    /// The follow-up.
    id: Uuid,
    /// What the site wrote.
    #[serde(flatten)]
    rule: FollowUpRuleBody,
}

impl From<(Uuid, AddFollowUpRule)> for FollowUpRule {
    fn from((id, rule): (Uuid, AddFollowUpRule)) -> Self {
        let AddFollowUpRule { days, name, source } = rule;
        let rule = FollowUpRuleBody { name, days, source };
        Self { id, rule }
    }
}

impl From<AddFollowUpRuleRefusal> for ApiError {
    fn from(refusal: AddFollowUpRuleRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddFollowUpRuleRefusal::NameTaken => ApiError::new(&catalogue::TAKEN).detail(detail),
        }
    }
}

/// Adds a follow-up to the site's list.
#[utoipa::path(
    operation_id = "add_follow_up_rule", tag = "records", request_body = FollowUpRuleBody,
    params(IdempotencyKey),
    responses((status = 201, description = "On the list.", body = FollowUpRule), Refusals),
)]
#[post("/v1/follow-up-rules")]
pub(super) async fn add_follow_up_rule(
    allowed: Allowed<act::AddFollowUpRule>,
    app: Data<App>,
    keyed: Keyed<FollowUpRuleBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = AddFollowUpRule {
        days: keyed.body.days,
        name: keyed.body.name,
        source: keyed.body.source,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |(id, rule), receipt| {
            let answer = FollowUpRule::from((*id, rule.clone()));
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}

/// The site's list of follow-ups.
#[derive(Debug, Serialize, ToSchema)]
pub struct FollowUpRules {
    /// By their days.
    items: Vec<FollowUpRule>,
}

/// Lists the site's follow-ups, each with its source.
#[utoipa::path(
    operation_id = "list_follow_up_rules", tag = "records",
    responses((status = 200, description = "The list.", body = FollowUpRules), Refusals),
)]
#[get("/v1/follow-up-rules")]
pub(super) async fn list_follow_up_rules(
    allowed: Allowed<act::ListFollowUpRules>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let rules = store::list_follow_up_rules(&mut reading).await?;
    let items = rules.into_iter().map(FollowUpRule::from).collect();
    Ok(HttpResponse::Ok().json(FollowUpRules { items }))
}

/// Which follow-ups.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those due before today and not done.
    #[serde(default)]
    #[param(required = false)]
    overdue: bool,
    /// Only those not done.
    #[serde(default)]
    #[param(required = false)]
    open: bool,
}

/// The follow-ups of one completed case.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseFollowUps {
    /// By the day they are due.
    follow_ups: Vec<FollowUp>,
}

/// A follow-up of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct FollowUp {
    /// The case.
    case_id: Uuid,
    /// What was done.
    #[schema(example = "Vein ablation, left leg")]
    procedure: String,
    /// The practitioner.
    practitioner_name: String,
    /// What the site calls it.
    #[schema(example = "Next-day call")]
    name: String,
    /// The day it is due.
    #[schema(value_type = String, format = Date)]
    due_on: Date,
    /// The day it was done.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    done_on: Option<Date>,
    /// Whether it was due before today and is not done.
    overdue: bool,
}

impl From<store::CaseFollowUp> for FollowUp {
    fn from(each: store::CaseFollowUp) -> Self {
        Self {
            case_id: each.case,
            procedure: each.procedure,
            practitioner_name: each.practitioner,
            name: each.follow_up.name,
            due_on: each.follow_up.due_on,
            done_on: each.follow_up.done_on,
            overdue: each.overdue,
        }
    }
}

/// Lists the follow-ups of completed cases, an item for each case of the page.
#[utoipa::path(
    operation_id = "list_follow_ups", tag = "records", params(Which, Paging),
    responses((status = 200, description = "A page of cases.", body = List<CaseFollowUps>), Refusals),
)]
#[get("/v1/follow-ups")]
pub(super) async fn list_follow_ups(
    allowed: Allowed<act::ListFollowUps>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let today = facility.day(app.recorder.clock().now());
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let zone = &facility.zone;
    let which = match (which.overdue, which.open) {
        (true, _) => WhichFollowUps::Overdue,
        (false, true) => WhichFollowUps::Open,
        (false, false) => WhichFollowUps::All,
    };
    let page = store::list_follow_ups(&mut reading, zone, today, which, after).await?;
    let page = Page {
        items: page
            .items
            .into_iter()
            .filter(|own| !own.is_empty())
            .collect(),
        next: page.next,
    };
    let list = List::of(page, |own: Vec<store::CaseFollowUp>| CaseFollowUps {
        follow_ups: own.into_iter().map(FollowUp::from).collect(),
    });
    Ok(HttpResponse::Ok().json(list))
}

/// A follow-up that was done.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FollowUpBody {
    /// The follow-up, by the name the site's list has.
    #[schema(example = "Next-day call", min_length = 1, max_length = 100)]
    name: String,
    /// The day.
    #[schema(value_type = String, format = Date)]
    done_on: Date,
    /// What came of it; never a patient's identity.
    #[schema(example = "Reached; no complaints", min_length = 1, max_length = 500)]
    outcome: String,
}

impl Checked for FollowUpBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
        errors.text("/outcome", &self.outcome, 1, 500);
    }
}

impl From<RecordFollowUpRefusal> for ApiError {
    fn from(refusal: RecordFollowUpRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, &detail)]);
        match refusal {
            RecordFollowUpRefusal::NoSuchCase => ApiError::no_such("case"),
            RecordFollowUpRefusal::NotCompleted => {
                ApiError::new(&catalogue::CASE_CLOSED).detail(detail)
            }
            RecordFollowUpRefusal::NoSuchRule => field("/name"),
            RecordFollowUpRefusal::DoneAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(detail)
            }
            RecordFollowUpRefusal::OutOfRange => field("/done_on"),
        }
    }
}

/// Records that a follow-up of a completed case was done, also after its signature: the signed
/// record stays as it is.
#[utoipa::path(
    operation_id = "record_follow_up", tag = "records", request_body = FollowUpBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = FollowUpBody), Refusals),
)]
#[post("/v1/cases/{case}/follow-ups")]
pub(super) async fn record_follow_up(
    allowed: Allowed<act::RecordFollowUp>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<FollowUpBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = RecordFollowUp {
        case: case.into_inner(),
        name: keyed.body.name,
        done_on: keyed.body.done_on,
        outcome: keyed.body.outcome,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |done, receipt| {
                let answer = FollowUpBody {
                    name: done.name.clone(),
                    done_on: done.done_on,
                    outcome: done.outcome.clone(),
                };
                render(StatusCode::CREATED, &answer, receipt, None)
            });
    Ok(reply(recorded.await?))
}
