//! `POST /v1/loads/{load}/clear`

use super::load::{Load, changed};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::loads::{ClearLoad, ClearLoadRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A person's decision about a held load.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClearLoadBody {
    /// Why the load is used after all.
    #[schema(
        example = "Single positive, repeat negative, monitor print reviewed",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for ClearLoadBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<ClearLoadRefusal> for ApiError {
    fn from(refusal: ClearLoadRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            ClearLoadRefusal::NoSuchLoad => ApiError::no_such("load"),
            ClearLoadRefusal::Stale => ApiError::new(&catalogue::STALE),
            ClearLoadRefusal::NotHeld => because(&catalogue::ALREADY_DONE),
            ClearLoadRefusal::NothingToDecide => because(&catalogue::OUT_OF_ORDER),
        }
    }
}

/// Lifts the hold of a load by a person's decision, where the sterilizer's policy and the
/// indicators leave one.
#[utoipa::path(
    operation_id = "clear_load", tag = "loads", request_body = ClearLoadBody,
    params(("load" = Uuid, Path, description = "The load."), Change, IdempotencyKey),
    responses((status = 200, description = "Lifted.", body = Load), Refusals),
)]
#[post("/v1/loads/{load}/clear")]
pub(super) async fn clear_load(
    allowed: Allowed<act::ClearLoad>,
    app: Data<App>,
    load: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<ClearLoadBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = ClearLoad {
        load: load.into_inner(),
        version: version.0,
        reason: keyed.body.reason,
    };
    let changed = changed(StatusCode::OK);
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, changed);
    Ok(reply(recorded.await?))
}
