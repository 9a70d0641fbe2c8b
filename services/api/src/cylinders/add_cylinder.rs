//! `POST /v1/cylinders`

use super::Cylinder;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::gas::Gas;
use lotwarden_store::cylinders::{AddCylinder, AddCylinderRefusal, NewCylinder};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A fill of a cylinder as its label, stamps and gauge say.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CylinderBody {
    /// The fill lot, whose expiry is the outdate. Its product is of the kind `gas` and reusable.
    lot_id: Uuid,
    /// The container, when its label has a serial.
    unit_id: Option<Uuid>,
    /// `helium` or `other`.
    #[schema(value_type = String, example = "helium", pattern = "^(helium|other)$")]
    gas: Gas,
    /// The gas as a person read it from the label, for the read-back.
    #[schema(example = "Helium", min_length = 1, max_length = 200)]
    name_read_back: Option<String>,
    /// The day of the fill.
    #[schema(value_type = String, format = Date, example = "2026-01-05")]
    filled_on: Date,
    /// The stamped or labelled water volume, 0.05 to 150.
    #[schema(example = "4.7")]
    water_volume_litre: Exact,
    /// The stamped service pressure, 1 to 10000.
    #[schema(example = "2015")]
    service_psi: Exact,
    /// A plus after the test date.
    plus: bool,
    /// Any day of the stamped month.
    #[schema(value_type = String, format = Date, example = "2024-05-01")]
    retest_month: Date,
    /// A star after the test date.
    star: bool,
    /// The gauge's accuracy as a percentage of its full scale, 0 to 25.
    #[schema(example = "2")]
    gauge_accuracy_percent: Exact,
    /// The gauge's full scale, 1 to 10000.
    #[schema(example = "3000")]
    gauge_full_scale_psi: Exact,
    /// The gauge pressure at which the site takes it out of use, 0 to 4350.
    #[schema(example = "200")]
    reserve_psi: Exact,
    /// What the site expects a case to use, 0 to 10000; nothing is called low without it.
    #[schema(example = "40")]
    expected_litre: Option<Exact>,
}

impl Checked for CylinderBody {
    fn check(&self, errors: &mut Fields) {
        if let Some(name) = &self.name_read_back {
            errors.text("/name_read_back", name, 1, 200);
        }
        errors.range(
            "/water_volume_litre",
            self.water_volume_litre,
            "0.05",
            "150",
        );
        errors.range("/service_psi", self.service_psi, "1", "10000");
        errors.range(
            "/gauge_accuracy_percent",
            self.gauge_accuracy_percent,
            "0",
            "25",
        );
        errors.range(
            "/gauge_full_scale_psi",
            self.gauge_full_scale_psi,
            "1",
            "10000",
        );
        errors.range("/reserve_psi", self.reserve_psi, "0", "4350");
        if let Some(litre) = self.expected_litre {
            errors.range("/expected_litre", litre, "0", "10000");
        }
        errors.require(
            self.retest_month <= self.filled_on,
            "/retest_month",
            "must not be after the fill",
        );
    }
}

impl From<AddCylinderRefusal> for ApiError {
    fn from(refusal: AddCylinderRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, detail.clone())]);
        match refusal {
            AddCylinderRefusal::NoSuchLot
            | AddCylinderRefusal::NotAGas
            | AddCylinderRefusal::NotReusable => field("/lot_id"),
            AddCylinderRefusal::NoSuchUnit => field("/unit_id"),
            AddCylinderRefusal::OnRecord => ApiError::new(&catalogue::TAKEN).detail(detail),
        }
    }
}

/// Puts a fill of a gas cylinder on record. A scan of its label on a case then says what is left.
#[utoipa::path(
    operation_id = "add_cylinder", tag = "cylinders", request_body = CylinderBody,
    params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = Cylinder), Refusals),
)]
#[post("/v1/cylinders")]
pub(super) async fn add_cylinder(
    allowed: Allowed<act::AddCylinder>,
    app: Data<App>,
    keyed: Keyed<CylinderBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let new = NewCylinder {
        expected_litre: body.expected_litre.map(|litre| litre.0),
        filled_on: body.filled_on,
        gas: body.gas,
        gauge_accuracy_percent: body.gauge_accuracy_percent.0,
        gauge_full_scale_psi: body.gauge_full_scale_psi.0,
        lot: body.lot_id,
        name_read_back: body.name_read_back,
        plus: body.plus,
        reserve_psi: body.reserve_psi.0,
        retest_month: body.retest_month.first_of_month(),
        service_psi: body.service_psi.0,
        star: body.star,
        unit: body.unit_id,
        water_volume_litre: body.water_volume_litre.0,
    };
    let today = app.today(allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        AddCylinder { new },
        move |cylinder, receipt| {
            let (answer, version) = (Cylinder::of(cylinder, today), Some(cylinder.version));
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
