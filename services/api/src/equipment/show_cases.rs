//! `GET /v1/equipment/{equipment}/cases`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::{Patient, facility_key};
use crate::http::answer::render;
use crate::http::reply;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_store::Request;
use lotwarden_store::equipment::{self as store, NoSuchEquipment, ShowEquipmentCases};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// From when.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Since {
    /// The first day, such as that of the last calibration; every case without one.
    #[param(value_type = Option<String>, format = Date, example = "2026-01-15")]
    since: Option<Date>,
}

/// The cases that had a piece of equipment.
#[derive(Debug, Serialize, ToSchema)]
pub struct CasesWithEquipment {
    /// The cases, in the order it was set up there.
    cases: Vec<CaseWithEquipment>,
}

/// A case that had it.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseWithEquipment {
    /// The case.
    case_id: Uuid,
    /// What was done.
    procedure: String,
    /// The state of the case.
    #[schema(value_type = String, example = "completed")]
    status: CaseStatus,
    /// The patient, by id.
    patient_id: Uuid,
    /// Who the patient is.
    #[serde(skip_serializing_if = "Option::is_none")]
    patient: Option<Patient>,
    /// When it was set up.
    #[schema(format = DateTime)]
    at: String,
}

impl From<&store::EquipmentCases> for CasesWithEquipment {
    fn from(found: &store::EquipmentCases) -> Self {
        let case = |case: &store::CaseWithEquipment| CaseWithEquipment {
            case_id: case.case,
            procedure: case.procedure.clone(),
            status: case.status,
            patient_id: case.patient,
            patient: found.patients.get(&case.patient).map(Patient::from),
            at: instant_text(case.at),
        };
        Self {
            cases: found.cases.iter().map(case).collect(),
        }
    }
}

impl From<NoSuchEquipment> for ApiError {
    fn from(_: NoSuchEquipment) -> Self {
        Self::no_such("equipment")
    }
}

/// Answers which cases and patients had a piece of equipment. Each answer is a ledger entry,
/// without identity, and complete up to that entry.
#[utoipa::path(
    operation_id = "show_equipment_cases", tag = "equipment",
    params(("equipment" = Uuid, Path, description = "The piece."), Since),
    responses((status = 200, description = "The cases.", body = CasesWithEquipment), Refusals),
)]
#[get("/v1/equipment/{equipment}/cases")]
pub(super) async fn show_equipment_cases(
    allowed: Allowed<act::ShowEquipmentCases>,
    app: Data<App>,
    equipment: Path<Uuid>,
    since: Query<Since>,
) -> Result<HttpResponse, ApiError> {
    let (_, key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = ShowEquipmentCases {
        facility_key: key,
        equipment: equipment.into_inner(),
        since: since.since,
    };
    // Without a key nothing of the answer is kept.
    let recorded = app.recorder.record(
        &allowed.grant,
        Request::default(),
        operation,
        |found, receipt| {
            let answer = CasesWithEquipment::from(found);
            render(StatusCode::OK, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
