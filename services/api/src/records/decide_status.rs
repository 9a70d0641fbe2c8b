//! `POST /v1/facility-status`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::deadlines::FacilityStatus;
use lotwarden_store::moment::instant_text;
use lotwarden_store::records::DecideStatus;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What the facility is, and why.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StatusBody {
    /// `user_facility` or `physician_office` (21 CFR 803.3).
    #[schema(value_type = String, example = "user_facility", pattern = "^(user_facility|physician_office)$")]
    status: FacilityStatus,
    /// Why.
    #[schema(
        example = "Separately licensed surgical suite",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for StatusBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// A decision about the facility's status.
#[derive(Debug, Serialize, ToSchema)]
pub struct StatusDecision {
    /// What was decided.
    #[schema(value_type = String, example = "user_facility")]
    status: FacilityStatus,
    /// Why.
    reason: String,
    /// Who decided.
    decided_by: String,
    /// When.
    #[schema(format = DateTime)]
    decided_at: String,
}

/// Puts on record what the facility is for device reports. Nothing is assumed without it.
#[utoipa::path(
    operation_id = "decide_status", tag = "records", request_body = StatusBody,
    params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = StatusDecision), Refusals),
)]
#[post("/v1/facility-status")]
pub(super) async fn decide_status(
    allowed: Allowed<act::DecideStatus>,
    app: Data<App>,
    keyed: Keyed<StatusBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = DecideStatus {
        reason: keyed.body.reason,
        status: keyed.body.status,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |decision, receipt| {
            let answer = StatusDecision {
                status: decision.decided.status,
                reason: decision.decided.reason.clone(),
                decided_by: decision.by.clone(),
                decided_at: instant_text(decision.at),
            };
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
