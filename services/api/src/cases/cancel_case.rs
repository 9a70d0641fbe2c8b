//! `POST /v1/cases/{case}/cancel`

use super::{Case, changed};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::cases::{CancelCase, ChangeStatusRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Why a procedure does not take place.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CancelBody {
    /// Why; never a patient's identity.
    #[schema(
        example = "Postponed by the practitioner",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for CancelBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<ChangeStatusRefusal> for ApiError {
    fn from(refusal: ChangeStatusRefusal) -> Self {
        match refusal {
            ChangeStatusRefusal::NoSuchCase => ApiError::no_such("case"),
            ChangeStatusRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangeStatusRefusal::OutOfOrder { .. } => {
                ApiError::new(&catalogue::CASE_CLOSED).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Ends a case that did not take place. Items on it stay there until each is returned, struck or
/// otherwise accounted for.
#[utoipa::path(
    operation_id = "cancel_case", tag = "cases", request_body = CancelBody,
    params(("case" = Uuid, Path, description = "The case."), Change, IdempotencyKey),
    responses((status = 200, description = "Not done.", body = Case), Refusals),
)]
#[post("/v1/cases/{case}/cancel")]
pub(super) async fn cancel_case(
    allowed: Allowed<act::CancelCase>,
    app: Data<App>,
    case: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<CancelBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = CancelCase {
        case: case.into_inner(),
        version: version.0,
        reason: keyed.body.reason,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, changed);
    Ok(reply(recorded.await?))
}
