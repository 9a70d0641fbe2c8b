//! `POST /v1/sterilizers/{sterilizer}/return`

use super::add_sterilizer::Sterilizer;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::Nothing;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::loads::{ReturnSterilizer, ReturnSterilizerRefusal};
use uuid::Uuid;

impl From<ReturnSterilizerRefusal> for ApiError {
    fn from(refusal: ReturnSterilizerRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            ReturnSterilizerRefusal::NoSuchSterilizer => ApiError::no_such("sterilizer"),
            ReturnSterilizerRefusal::Stale => ApiError::new(&catalogue::STALE),
            ReturnSterilizerRefusal::InService => because(&catalogue::ALREADY_DONE),
            ReturnSterilizerRefusal::CyclesMissing => because(&catalogue::OUT_OF_ORDER),
        }
    }
}

/// Returns a sterilizer to service after three empty cycles in a row with a negative biological
/// indicator (CDC Guideline for Disinfection and Sterilization, 2008, updated 2019).
#[utoipa::path(
    operation_id = "return_sterilizer", tag = "loads", request_body = Nothing,
    params(("sterilizer" = Uuid, Path, description = "The sterilizer."), Change, IdempotencyKey),
    responses((status = 200, description = "In service.", body = Sterilizer), Refusals),
)]
#[post("/v1/sterilizers/{sterilizer}/return")]
pub(super) async fn return_sterilizer(
    allowed: Allowed<act::ReturnSterilizer>,
    app: Data<App>,
    sterilizer: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = ReturnSterilizer {
        sterilizer: sterilizer.into_inner(),
        version: version.0,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |returned, receipt| {
            let version = Some(returned.version);
            render(
                StatusCode::OK,
                &Sterilizer::from(returned),
                receipt,
                version,
            )
        },
    );
    Ok(reply(recorded.await?))
}
