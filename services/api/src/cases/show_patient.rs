//! `GET /v1/cases/{case}/patient`

use super::{Patient, facility_key};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::reply;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::Request;
use lotwarden_store::cases::{self as store, ShowPatientRefusal};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// The patient of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct PatientShown {
    /// The patient, by id.
    id: Uuid,
    /// Who it is.
    #[serde(flatten)]
    patient: Patient,
}

impl From<ShowPatientRefusal> for ApiError {
    fn from(refusal: ShowPatientRefusal) -> Self {
        match refusal {
            ShowPatientRefusal::NoSuchCase => ApiError::no_such("case"),
        }
    }
}

/// Shows who the patient of a case is. Each look is a ledger entry, which holds no identity.
#[utoipa::path(
    operation_id = "show_patient", tag = "cases",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The patient.", body = PatientShown), Refusals),
)]
#[get("/v1/cases/{case}/patient")]
pub(super) async fn show_patient(
    allowed: Allowed<act::ShowPatient>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = store::ShowPatient {
        facility_key,
        case: case.into_inner(),
    };
    // Without a key nothing of the answer is kept.
    let recorded = app.recorder.record(
        &allowed.grant,
        Request::default(),
        operation,
        |(id, patient), receipt| {
            let shown = PatientShown {
                id: *id,
                patient: Patient::from(patient),
            };
            render(StatusCode::OK, &shown, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
