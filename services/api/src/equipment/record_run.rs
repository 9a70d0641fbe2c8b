//! `POST /v1/equipment/{equipment}/runs`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::equipment::{self as store, RecordRun, RecordRunRefusal};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// How long equipment ran.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RunBody {
    /// The case, on which the equipment was set up.
    case_id: Uuid,
    /// By its counter or a clock, 0.1 to 1440.
    #[schema(example = "35")]
    minutes: Exact,
}

impl Checked for RunBody {
    fn check(&self, errors: &mut Fields) {
        errors.range("/minutes", self.minutes, "0.1", "1440");
    }
}

/// A run on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct EquipmentRun {
    /// The record.
    id: Uuid,
    /// The piece.
    equipment_id: Uuid,
    /// The case.
    case_id: Uuid,
    /// Minutes.
    minutes: Exact,
    /// When it was recorded.
    #[schema(format = DateTime)]
    at: String,
}

impl From<&store::Run> for EquipmentRun {
    fn from(run: &store::Run) -> Self {
        Self {
            id: run.id,
            equipment_id: run.recorded.equipment,
            case_id: run.recorded.case,
            minutes: run.recorded.minutes.into(),
            at: instant_text(run.at),
        }
    }
}

impl From<RecordRunRefusal> for ApiError {
    fn from(refusal: RecordRunRefusal) -> Self {
        match refusal {
            RecordRunRefusal::Case(reason) => reason.into(),
            RecordRunRefusal::NotOnCase => {
                ApiError::new(&catalogue::DIFFERS).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Records how long equipment ran on a case; it counts against the filter that is in it.
#[utoipa::path(
    operation_id = "record_run", tag = "equipment", request_body = RunBody,
    params(("equipment" = Uuid, Path, description = "The piece."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = EquipmentRun), Refusals),
)]
#[post("/v1/equipment/{equipment}/runs")]
pub(super) async fn record_run(
    allowed: Allowed<act::RecordRun>,
    app: Data<App>,
    equipment: Path<Uuid>,
    keyed: Keyed<RunBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = RecordRun {
        case: keyed.body.case_id,
        equipment: equipment.into_inner(),
        minutes: keyed.body.minutes.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |run, receipt| {
            let answer = EquipmentRun::from(run);
            render(StatusCode::CREATED, &answer, receipt, None)
        });
    Ok(reply(recorded.await?))
}
