//! `POST /v1/loads/{load}/release`

use super::load::{Load, changed};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::Nothing;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::loads::{ReleaseLoad, ReleaseLoadRefusal};
use uuid::Uuid;

impl From<ReleaseLoadRefusal> for ApiError {
    fn from(refusal: ReleaseLoadRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            ReleaseLoadRefusal::NoSuchLoad => ApiError::no_such("load"),
            ReleaseLoadRefusal::Stale => ApiError::new(&catalogue::STALE),
            ReleaseLoadRefusal::ReleasedAlready => because(&catalogue::ALREADY_DONE),
            ReleaseLoadRefusal::Held
            | ReleaseLoadRefusal::NotGood(_)
            | ReleaseLoadRefusal::ImplantWaits => because(&catalogue::OUT_OF_ORDER),
        }
    }
}

/// Releases a load: its mechanical and chemical indicators are good, and a load with an implant has
/// its negative biological one (ANSI/AAMI ST79, from memory).
#[utoipa::path(
    operation_id = "release_load", tag = "loads", request_body = Nothing,
    params(("load" = Uuid, Path, description = "The load."), Change, IdempotencyKey),
    responses((status = 200, description = "Released.", body = Load), Refusals),
)]
#[post("/v1/loads/{load}/release")]
pub(super) async fn release_load(
    allowed: Allowed<act::ReleaseLoad>,
    app: Data<App>,
    load: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = ReleaseLoad {
        load: load.into_inner(),
        version: version.0,
    };
    let changed = changed(StatusCode::OK);
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, changed);
    Ok(reply(recorded.await?))
}
