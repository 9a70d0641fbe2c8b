//! `POST /v1/cylinders/{cylinder}/uses`

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
use lotwarden_store::cylinders::{self as store, RecordGasUse, RecordGasUseRefusal};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Gas at a set flow for a time.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GasUseBody {
    /// The case, on which the cylinder's label was scanned.
    case_id: Uuid,
    /// The zone, by the site's own list.
    #[schema(example = "Calf, left", min_length = 1, max_length = 100)]
    zone: String,
    /// The set flow, 0.01 to 100.
    #[schema(example = "1.5")]
    litre_per_minute: Exact,
    /// The time, 0 to 1440.
    #[schema(example = "12")]
    minutes: Exact,
}

impl Checked for GasUseBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/zone", &self.zone, 1, 100);
        errors.range("/litre_per_minute", self.litre_per_minute, "0.01", "100");
        errors.range("/minutes", self.minutes, "0", "1440");
    }
}

/// Gas that flowed on a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct GasUse {
    /// The record.
    id: Uuid,
    /// The cylinder.
    cylinder_id: Uuid,
    /// The case.
    case_id: Uuid,
    /// The zone.
    zone: String,
    /// The set flow.
    litre_per_minute: Exact,
    /// The time.
    minutes: Exact,
    /// Flow times time.
    litre: Exact,
    /// When it was recorded.
    #[schema(format = DateTime)]
    at: String,
}

impl From<&store::GasUse> for GasUse {
    fn from(gas: &store::GasUse) -> Self {
        let recorded = &gas.recorded;
        Self {
            id: gas.id,
            cylinder_id: recorded.cylinder,
            case_id: recorded.case,
            zone: recorded.zone.clone(),
            litre_per_minute: recorded.litre_per_minute.into(),
            minutes: recorded.minutes.into(),
            litre: gas.litre.into(),
            at: instant_text(gas.at),
        }
    }
}

impl From<RecordGasUseRefusal> for ApiError {
    fn from(refusal: RecordGasUseRefusal) -> Self {
        match refusal {
            RecordGasUseRefusal::NoSuchCylinder => ApiError::no_such("cylinder"),
            RecordGasUseRefusal::Case(reason) => reason.into(),
            RecordGasUseRefusal::NotOnCase => {
                ApiError::new(&catalogue::DIFFERS).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Records gas by flow and time in one zone of a case. The gauge is only the cross-check: a case
/// uses less than it can show.
#[utoipa::path(
    operation_id = "record_gas_use", tag = "cylinders", request_body = GasUseBody,
    params(("cylinder" = Uuid, Path, description = "The fill."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = GasUse), Refusals),
)]
#[post("/v1/cylinders/{cylinder}/uses")]
pub(super) async fn record_gas_use(
    allowed: Allowed<act::RecordGasUse>,
    app: Data<App>,
    cylinder: Path<Uuid>,
    keyed: Keyed<GasUseBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordGasUse {
        cylinder: cylinder.into_inner(),
        case: body.case_id,
        zone: body.zone,
        litre_per_minute: body.litre_per_minute.0,
        minutes: body.minutes.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |gas, receipt| {
            render(StatusCode::CREATED, &GasUse::from(gas), receipt, None)
        });
    Ok(reply(recorded.await?))
}
