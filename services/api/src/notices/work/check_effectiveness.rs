//! `POST /v1/notices/{notice}/samples`

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
use lotwarden_domain::effectiveness::Level;
use lotwarden_store::notices::work::CheckEffectiveness;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// How many to check.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SampleBody {
    /// The level, `A` to `E` (21 CFR 7.42(b)(3)).
    #[schema(value_type = String, example = "C", pattern = "^[A-E]$")]
    level: Level,
    /// How many, for level B, which leaves it to the recall's strategy.
    #[serde(default)]
    checks: Option<u64>,
}

impl Checked for SampleBody {
    fn check(&self, errors: &mut Fields) {
        let known = self.checks.is_none() || self.level == Level::B;
        errors.require(known, "/checks", "is for level B alone");
    }
}

/// Draws the patients of an effectiveness check, so that anybody can repeat the draw: those to be told in the order of SHA-256 over the seed, a colon and the patient's id.
#[utoipa::path(
    operation_id = "check_effectiveness", tag = "notices", request_body = SampleBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/samples")]
pub(super) async fn check_effectiveness(
    allowed: Allowed<act::CheckEffectiveness>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<SampleBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = CheckEffectiveness {
        notice: notice.into_inner(),
        level: body.level,
        checks: body.checks,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
