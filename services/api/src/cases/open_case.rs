//! `POST /v1/cases`

use super::patient::PatientBody;
use super::{Case, facility_key};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use lotwarden_domain::access::act;
use lotwarden_domain::clock::whole_microseconds;
use lotwarden_store::cases::{OpenCase, OpenCaseRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A procedure that is planned.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CaseBody {
    /// The patient; put on file when the record number is new.
    patient: PatientBody,
    /// What is done; never a patient's identity.
    #[schema(example = "Vein ablation, left leg", min_length = 1, max_length = 200)]
    procedure: String,
    /// The room.
    location_id: Uuid,
    /// Who does it; holds the role `practitioner`.
    practitioner_id: Uuid,
    /// When it is planned.
    #[schema(value_type = String, format = DateTime, example = "2026-11-24T14:30:00Z")]
    scheduled_for: Timestamp,
}

impl Checked for CaseBody {
    fn check(&self, errors: &mut Fields) {
        self.patient.check(errors);
        errors.text("/procedure", &self.procedure, 1, 200);
    }
}

impl From<OpenCaseRefusal> for ApiError {
    fn from(refusal: OpenCaseRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            OpenCaseRefusal::NoSuchLocation => field("/location_id"),
            OpenCaseRefusal::NoSuchPractitioner => field("/practitioner_id"),
            OpenCaseRefusal::RecordNumberDiffers => {
                ApiError::new(&catalogue::DIFFERS).detail(detail)
            }
        }
    }
}

/// Opens a case. The identity is sealed; the ledger holds salted commitments to it only.
#[utoipa::path(
    operation_id = "open_case", tag = "cases", request_body = CaseBody, params(IdempotencyKey),
    responses((status = 201, description = "Open, in preparation.", body = Case), Refusals),
)]
#[post("/v1/cases")]
pub(super) async fn open_case(
    allowed: Allowed<act::OpenCase>,
    app: Data<App>,
    keyed: Keyed<CaseBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = OpenCase {
        facility_key,
        patient: body.patient.into_store(),
        procedure: body.procedure,
        location: body.location_id,
        practitioner: body.practitioner_id,
        scheduled_for: whole_microseconds(body.scheduled_for),
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |case, receipt| {
                let version = Some(case.version);
                render(StatusCode::CREATED, &Case::from(case), receipt, version)
            });
    Ok(reply(recorded.await?))
}
