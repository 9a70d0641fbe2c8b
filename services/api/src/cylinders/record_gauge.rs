//! `POST /v1/cylinders/{cylinder}/gauge`

use super::Cylinder;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::cylinders::{RecordGauge, RecordGaugeRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What a gauge shows.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct GaugeBody {
    /// Pounds per square inch, 0 to 4350 and within the gauge's scale.
    #[schema(example = "1600")]
    gauge_psi: Exact,
    /// The temperature of the cylinder, -20 to 60.
    #[schema(example = "21.1")]
    celsius: Exact,
    /// The flow that minutes are wanted for, 0.01 to 100.
    #[schema(example = "2")]
    litre_per_minute: Option<Exact>,
}

impl Checked for GaugeBody {
    fn check(&self, errors: &mut Fields) {
        errors.range("/gauge_psi", self.gauge_psi, "0", "4350");
        errors.range("/celsius", self.celsius, "-20", "60");
        if let Some(flow) = self.litre_per_minute {
            errors.range("/litre_per_minute", flow, "0.01", "100");
        }
    }
}

impl From<RecordGaugeRefusal> for ApiError {
    fn from(refusal: RecordGaugeRefusal) -> Self {
        match refusal {
            RecordGaugeRefusal::NoSuchCylinder => ApiError::no_such("cylinder"),
            RecordGaugeRefusal::BeyondScale => ApiError::fields(vec![FieldError::new(
                "/gauge_psi",
                sentence(&refusal.to_string()),
            )]),
        }
    }
}

/// Records what the gauge of a cylinder shows; the answer says what is left, with its band.
#[utoipa::path(
    operation_id = "record_gauge", tag = "cylinders", request_body = GaugeBody,
    params(("cylinder" = Uuid, Path, description = "The fill."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = Cylinder), Refusals),
)]
#[post("/v1/cylinders/{cylinder}/gauge")]
pub(super) async fn record_gauge(
    allowed: Allowed<act::RecordGauge>,
    app: Data<App>,
    cylinder: Path<Uuid>,
    keyed: Keyed<GaugeBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = RecordGauge {
        cylinder: cylinder.into_inner(),
        gauge_psi: keyed.body.gauge_psi.0,
        celsius: keyed.body.celsius.0,
        litre_per_minute: keyed.body.litre_per_minute.map(|flow| flow.0),
    };
    let today = app.today(allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |cylinder, receipt| {
            let (answer, version) = (Cylinder::of(cylinder, today), Some(cylinder.version));
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
