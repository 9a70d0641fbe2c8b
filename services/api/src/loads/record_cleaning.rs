//! `POST /v1/cleanings`

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
use lotwarden_store::loads::{RecordCleaning, RecordCleaningRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// How a reusable piece was cleaned.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CleaningBody {
    /// The piece.
    unit_id: Uuid,
    /// Whether its lumen was flushed.
    flushed: bool,
    /// The brush.
    #[schema(example = "1.2 mm nylon, 30 cm", min_length = 1, max_length = 100)]
    brush: String,
    /// Whether it was inspected.
    inspected: bool,
    /// A remark; never a patient's identity.
    #[schema(min_length = 1, max_length = 500)]
    remark: Option<String>,
}

impl Checked for CleaningBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/brush", &self.brush, 1, 100);
        if let Some(remark) = &self.remark {
            errors.text("/remark", remark, 1, 500);
        }
    }
}

/// A cleaning on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct Cleaning {
    /// The cleaning.
    id: Uuid,
}

impl From<RecordCleaningRefusal> for ApiError {
    fn from(refusal: RecordCleaningRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            RecordCleaningRefusal::NoSuchUnit => {
                ApiError::fields(vec![FieldError::new("/unit_id", detail)])
            }
        }
    }
}

/// Records the cleaning of a reusable piece before its load; the person who asks is the one who
/// did it.
#[utoipa::path(
    operation_id = "record_cleaning", tag = "loads", request_body = CleaningBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = Cleaning), Refusals),
)]
#[post("/v1/cleanings")]
pub(super) async fn record_cleaning(
    allowed: Allowed<act::RecordCleaning>,
    app: Data<App>,
    keyed: Keyed<CleaningBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordCleaning {
        brush: body.brush,
        flushed: body.flushed,
        inspected: body.inspected,
        remark: body.remark,
        unit: body.unit_id,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |id, receipt| {
            render(StatusCode::CREATED, &Cleaning { id: *id }, receipt, None)
        });
    Ok(reply(recorded.await?))
}
