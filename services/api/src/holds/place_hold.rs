//! `POST /v1/holds`

use super::Hold;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::HoldScope;
use lotwarden_store::holds::{PlaceHold, PlaceHoldRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What to bar, and why.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HoldBody {
    /// `product`, `lot` or `unit`.
    #[schema(value_type = String, example = "lot", pattern = "^(product|lot|unit)$")]
    scope: HoldScope,
    /// The id of the product, lot or piece.
    target_id: Uuid,
    /// Why; never a patient's identity.
    #[schema(
        example = "Pouch seals open on three of five boxes",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for HoldBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<PlaceHoldRefusal> for ApiError {
    fn from(refusal: PlaceHoldRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            PlaceHoldRefusal::NoSuchTarget => {
                ApiError::fields(vec![FieldError::new("/target_id", detail)])
            }
        }
    }
}

/// Bars a product, one of its lots, or one piece: every scan of it is stopped from this commit on.
#[utoipa::path(
    operation_id = "place_hold", tag = "holds", request_body = HoldBody, params(IdempotencyKey),
    responses((status = 201, description = "In force.", body = Hold), Refusals),
)]
#[post("/v1/holds")]
pub(super) async fn place_hold(
    allowed: Allowed<act::PlaceHold>,
    app: Data<App>,
    keyed: Keyed<HoldBody>,
) -> Result<HttpResponse, ApiError> {
    let HoldBody {
        scope,
        target_id,
        reason,
    } = keyed.body;
    let operation = PlaceHold {
        target: target_id,
        scope,
        reason,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |hold, receipt| {
                render(
                    StatusCode::CREATED,
                    &Hold::from(hold),
                    receipt,
                    Some(hold.version),
                )
            });
    Ok(reply(recorded.await?))
}
