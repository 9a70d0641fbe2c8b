//! `POST /v1/equipment`

use super::{Due, Equipment};
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
use lotwarden_domain::access::act;
use lotwarden_domain::equipment::{EquipmentKind, ThermometerType};
use lotwarden_store::equipment::{AddEquipment, AddEquipmentRefusal, NewEquipment};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A piece of equipment.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EquipmentBody {
    /// The site's own number, as its sticker shows it and a scanner reads it.
    #[schema(example = "EQ-0042", min_length = 1, max_length = 50)]
    asset_number: String,
    /// `generator`, `vibration_drive`, `smoke_evacuator`, `thermometer` or `other`.
    #[schema(
        value_type = String, example = "generator",
        pattern = "^(generator|vibration_drive|smoke_evacuator|thermometer|other)$"
    )]
    kind: EquipmentKind,
    /// How a thermometer measures: `contact`, `infrared_spot` or `infrared_camera`. With a
    /// thermometer only, and always with one.
    #[schema(value_type = Option<String>, pattern = "^(contact|infrared_spot|infrared_camera)$")]
    thermometer_type: Option<ThermometerType>,
    /// Its name.
    #[schema(example = "Generator 2", min_length = 1, max_length = 200)]
    name: String,
    /// The maker's serial.
    #[schema(example = "00417", min_length = 1, max_length = 50)]
    serial: Option<String>,
    /// What a scanner reads from the maker's label on this piece.
    #[schema(min_length = 1, max_length = 200)]
    label: Option<String>,
    /// Where it stands.
    location_id: Option<Uuid>,
}

impl Checked for EquipmentBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/asset_number", &self.asset_number, 1, 50);
        errors.text("/name", &self.name, 1, 200);
        if let Some(serial) = &self.serial {
            errors.text("/serial", serial, 1, 50);
        }
        check_label(self.label.as_deref(), errors);
        errors.require(
            self.thermometer_type.is_some() == (self.kind == EquipmentKind::Thermometer),
            "/thermometer_type",
            "must be given with a thermometer, and with nothing else",
        );
    }
}

/// A label may hold the separator U+001D, as scanners send it.
pub(super) fn check_label(label: Option<&str>, errors: &mut Fields) {
    if let Some(label) = label {
        errors.text("/label", &label.replace('\u{1d}', " "), 1, 200);
    }
}

impl From<AddEquipmentRefusal> for ApiError {
    fn from(refusal: AddEquipmentRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddEquipmentRefusal::AssetTaken | AddEquipmentRefusal::LabelTaken => {
                ApiError::new(&catalogue::TAKEN).detail(detail)
            }
            AddEquipmentRefusal::NoSuchPlace => {
                ApiError::fields(vec![FieldError::new("/location_id", detail)])
            }
        }
    }
}

/// Puts a piece of equipment on record. Its asset number or label, scanned at a setup, names it.
#[utoipa::path(
    operation_id = "add_equipment", tag = "equipment", request_body = EquipmentBody,
    params(IdempotencyKey),
    responses((status = 201, description = "On record.", body = Equipment), Refusals),
)]
#[post("/v1/equipment")]
pub(super) async fn add_equipment(
    allowed: Allowed<act::AddEquipment>,
    app: Data<App>,
    keyed: Keyed<EquipmentBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let new = NewEquipment {
        asset_number: body.asset_number.trim().to_owned(),
        kind: body.kind,
        label: body.label,
        location: body.location_id,
        name: body.name,
        serial: body.serial,
        thermometer_type: body.thermometer_type,
    };
    let due = Due::of(&app, allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        AddEquipment { new },
        move |piece, receipt| {
            let (answer, version) = (Equipment::of(piece, &due), Some(piece.version));
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
