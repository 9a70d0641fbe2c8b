//! `POST /v1/notices/{notice}/checks`

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
use lotwarden_store::notices::work::{Check, RecordCheck};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What the check of a patient found.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckBody {
    /// The patient, by id; one of the newest sample.
    patient_id: Uuid,
    /// The patient was told and understood.
    effective: bool,
}

impl Checked for CheckBody {
    fn check(&self, _: &mut Fields) {}
}

/// Puts the result of an effectiveness check on record.
#[utoipa::path(
    operation_id = "record_check", tag = "notices", request_body = CheckBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/checks")]
pub(super) async fn record_check(
    allowed: Allowed<act::RecordCheck>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<CheckBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordCheck {
        notice: notice.into_inner(),
        patient: body.patient_id,
        check: Check {
            effective: body.effective,
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
