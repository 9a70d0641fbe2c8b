//! `POST /v1/mixes/{mix}/close`

use super::mix::Mix;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::mixes::{CloseMix, CloseMixRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What became of the rest.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseMixBody {
    /// Discarded, 0 to 20000.
    #[schema(example = "97.75")]
    discarded_ml: Exact,
    /// Left in the container, 0 to 20000.
    #[schema(example = "0")]
    left_ml: Exact,
    /// Why the volumes do not add up, where they differ by more than 5 mL; never a patient's
    /// identity.
    #[schema(min_length = 3, max_length = 500)]
    explanation: Option<String>,
}

impl Checked for CloseMixBody {
    fn check(&self, errors: &mut Fields) {
        errors.range("/discarded_ml", self.discarded_ml, "0", "20000");
        errors.range("/left_ml", self.left_ml, "0", "20000");
        if let Some(text) = &self.explanation {
            errors.text("/explanation", text, 3, 500);
        }
    }
}

impl From<CloseMixRefusal> for ApiError {
    fn from(refusal: CloseMixRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            CloseMixRefusal::NoSuchMix => ApiError::no_such("mix"),
            CloseMixRefusal::Stale => ApiError::new(&catalogue::STALE),
            CloseMixRefusal::NotMade => ApiError::new(&catalogue::OUT_OF_ORDER).detail(detail),
            CloseMixRefusal::ClosedAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(detail)
            }
            CloseMixRefusal::Case(reason) => reason.into(),
            CloseMixRefusal::NotExplained { .. } => {
                ApiError::fields(vec![FieldError::new("/explanation", detail)])
            }
        }
    }
}

/// Accounts for the rest of a mix: mixed = given + discarded + left, within 5 mL or with an
/// explanation.
#[utoipa::path(
    operation_id = "close_mix", tag = "mixes", request_body = CloseMixBody,
    params(("mix" = Uuid, Path, description = "The mix."), Change, IdempotencyKey),
    responses((status = 200, description = "Closed.", body = Mix), Refusals),
)]
#[post("/v1/mixes/{mix}/close")]
pub(super) async fn close_mix(
    allowed: Allowed<act::CloseMix>,
    app: Data<App>,
    mix: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<CloseMixBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = CloseMix {
        mix: mix.into_inner(),
        version: version.0,
        discarded_ml: body.discarded_ml.0,
        left_ml: body.left_ml.0,
        explanation: body.explanation,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |mix, receipt| {
            render(StatusCode::OK, &Mix::from(mix), receipt, Some(mix.version))
        });
    Ok(reply(recorded.await?))
}
