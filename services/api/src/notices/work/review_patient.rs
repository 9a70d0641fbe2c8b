//! `POST /v1/notices/{notice}/reviews`

use super::{WorkRecorded, on_record};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::ReviewDecision;
use lotwarden_store::notices::work::{Review, ReviewPatient};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What the practitioner decided.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReviewBody {
    /// The patient, by id.
    patient_id: Uuid,
    /// `notify`, `not_needed` or `not_reached` (the patient has none of the items).
    #[schema(value_type = String, example = "notify", pattern = "^(notify|not_needed|not_reached)$")]
    decision: ReviewDecision,
    /// Why; never a patient's identity.
    #[schema(
        example = "Item used as named; letter template 2",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for ReviewBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// Puts the practitioner's decision for a patient on record; a later one stands in its place.
#[utoipa::path(
    operation_id = "review_patient", tag = "notices", request_body = ReviewBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/reviews")]
pub(super) async fn review_patient(
    allowed: Allowed<act::ReviewPatient>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<ReviewBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = ReviewPatient {
        notice: notice.into_inner(),
        patient: body.patient_id,
        review: Review {
            decision: body.decision,
            reason: body.reason,
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
