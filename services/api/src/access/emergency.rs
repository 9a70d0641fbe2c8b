//! `POST /v1/cases/{case}/emergency-access` and `POST /v1/emergency-accesses/{access}/review`

use super::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::access::{
    ReviewEmergencyAccess, ReviewEmergencyAccessRefusal, TakeEmergencyAccess,
    TakeEmergencyAccessRefusal,
};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Why access is taken, and for how long.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EmergencyBody {
    /// Why.
    #[schema(
        example = "The circulator was called away; the patient is on the table.",
        min_length = 10,
        max_length = 500
    )]
    reason: String,
    /// Minutes until it ends by itself.
    #[schema(example = 60, minimum = 5, maximum = 240)]
    minutes: u16,
}

impl Checked for EmergencyBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 10, 500);
        errors.require(
            (5..=240).contains(&self.minutes),
            "/minutes",
            "must be 5 to 240",
        );
    }
}

/// Emergency access that was taken.
#[derive(Debug, Serialize, ToSchema)]
pub struct EmergencyTaken {
    /// The access; the task of its review has the same id.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// When it ends by itself.
    #[schema(format = DateTime)]
    ends_at: String,
}

/// What a review found.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EmergencyReview {
    /// What was found.
    #[schema(
        example = "Justified: the log of the room agrees.",
        min_length = 3,
        max_length = 500
    )]
    finding: String,
}

impl Checked for EmergencyReview {
    fn check(&self, errors: &mut Fields) {
        errors.text("/finding", &self.finding, 3, 500);
    }
}

/// An emergency access that was reviewed.
#[derive(Debug, Serialize, ToSchema)]
pub struct EmergencyReviewed {
    /// The access.
    id: Uuid,
}

impl From<TakeEmergencyAccessRefusal> for ApiError {
    fn from(refusal: TakeEmergencyAccessRefusal) -> Self {
        match refusal {
            TakeEmergencyAccessRefusal::NoSuchCase => ApiError::no_such("case"),
        }
    }
}

impl From<ReviewEmergencyAccessRefusal> for ApiError {
    fn from(refusal: ReviewEmergencyAccessRefusal) -> Self {
        match refusal {
            ReviewEmergencyAccessRefusal::NoSuchAccess => ApiError::no_such("emergency access"),
            ReviewEmergencyAccessRefusal::ReviewedAlready => {
                ApiError::new(&catalogue::ALREADY_DONE)
            }
            ReviewEmergencyAccessRefusal::Own => {
                ApiError::new(&catalogue::FORBIDDEN).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Takes access to a case at once, for a bounded time; compliance is told and has to review it.
///
/// Until it ends, the caller may scan on this case, strike, say what became of items, start,
/// complete and cancel it, and see it and its patient, whatever the caller's roles. It gives no
/// signature and nothing outside the case.
#[utoipa::path(
    operation_id = "take_emergency_access", tag = "access", request_body = EmergencyBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Taken.", body = EmergencyTaken), Refusals),
)]
#[post("/v1/cases/{case}/emergency-access")]
pub(super) async fn take_emergency_access(
    allowed: Allowed<act::TakeEmergencyAccess>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<EmergencyBody>,
) -> Result<HttpResponse, ApiError> {
    let EmergencyBody { reason, minutes } = keyed.body;
    let operation = TakeEmergencyAccess {
        person: allowed.caller.person,
        case: case.into_inner(),
        reason,
        minutes,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |taken, receipt| {
            let body = EmergencyTaken {
                id: taken.id,
                case_id: taken.case,
                ends_at: instant_text(taken.ends_at),
            };
            render(StatusCode::CREATED, &body, receipt, None)
        },
    );
    let answer = recorded.await?;
    let facility = allowed.caller.facility;
    app.emergencies.learn(&app.recorder, facility).await?;
    tracing::warn!(person = %allowed.caller.person, "emergency access was taken");
    Ok(reply(answer))
}

/// Puts on record what the review of an emergency access found. Nobody reviews the own.
#[utoipa::path(
    operation_id = "review_emergency_access", tag = "access", request_body = EmergencyReview,
    params(("access" = Uuid, Path, description = "The emergency access."), IdempotencyKey),
    responses((status = 201, description = "Reviewed.", body = EmergencyReviewed), Refusals),
)]
#[post("/v1/emergency-accesses/{access}/review")]
pub(super) async fn review_emergency_access(
    allowed: Allowed<act::ReviewEmergencyAccess>,
    app: Data<App>,
    access: Path<Uuid>,
    keyed: Keyed<EmergencyReview>,
) -> Result<HttpResponse, ApiError> {
    let id = access.into_inner();
    let operation = ReviewEmergencyAccess {
        id,
        finding: keyed.body.finding,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |(), receipt| {
            render(
                StatusCode::CREATED,
                &EmergencyReviewed { id },
                receipt,
                None,
            )
        },
    );
    Ok(reply(recorded.await?))
}
