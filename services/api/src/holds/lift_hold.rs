//! `POST /v1/holds/{hold}/lift`

use super::Hold;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::holds::{LiftHold, LiftHoldRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Why a hold ends.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LiftBody {
    /// Why.
    #[schema(
        example = "Supplier confirmed the seals; report 12 filed",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for LiftBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<LiftHoldRefusal> for ApiError {
    fn from(refusal: LiftHoldRefusal) -> Self {
        match refusal {
            LiftHoldRefusal::NoSuchHold => ApiError::no_such("hold"),
            LiftHoldRefusal::Stale => ApiError::new(&catalogue::STALE),
            LiftHoldRefusal::LiftedAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Ends a hold.
#[utoipa::path(
    operation_id = "lift_hold", tag = "holds", request_body = LiftBody,
    params(("hold" = Uuid, Path, description = "The hold."), Change, IdempotencyKey),
    responses((status = 200, description = "Lifted.", body = Hold), Refusals),
)]
#[post("/v1/holds/{hold}/lift")]
pub(super) async fn lift_hold(
    allowed: Allowed<act::LiftHold>,
    app: Data<App>,
    hold: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<LiftBody>,
) -> Result<HttpResponse, ApiError> {
    let reason = keyed.body.reason;
    let operation = LiftHold {
        id: hold.into_inner(),
        version: version.0,
        reason,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |hold, receipt| {
                render(
                    StatusCode::OK,
                    &Hold::from(hold),
                    receipt,
                    Some(hold.version),
                )
            });
    Ok(reply(recorded.await?))
}
