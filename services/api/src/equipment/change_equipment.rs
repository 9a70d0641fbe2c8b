//! `PUT /v1/equipment/{equipment}`

use super::add_equipment::check_label;
use super::{Due, Equipment};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use lotwarden_domain::access::act;
use lotwarden_store::equipment::{ChangeEquipment, ChangeEquipmentRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What of a piece of equipment may change.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EquipmentChange {
    /// Its name.
    #[schema(example = "Generator 2", min_length = 1, max_length = 200)]
    name: String,
    /// What a scanner reads from the maker's label on this piece.
    #[schema(min_length = 1, max_length = 200)]
    label: Option<String>,
    /// Where it stands.
    location_id: Option<Uuid>,
}

impl Checked for EquipmentChange {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 200);
        check_label(self.label.as_deref(), errors);
    }
}

impl From<ChangeEquipmentRefusal> for ApiError {
    fn from(refusal: ChangeEquipmentRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            ChangeEquipmentRefusal::NoSuchEquipment => ApiError::no_such("equipment"),
            ChangeEquipmentRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangeEquipmentRefusal::LabelTaken => ApiError::new(&catalogue::TAKEN).detail(detail),
            ChangeEquipmentRefusal::NoSuchPlace => {
                ApiError::fields(vec![FieldError::new("/location_id", detail)])
            }
        }
    }
}

/// Changes name, label and place of a piece of equipment; what is not given is taken away.
#[utoipa::path(
    operation_id = "change_equipment", tag = "equipment", request_body = EquipmentChange,
    params(("equipment" = Uuid, Path, description = "The piece."), Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = Equipment), Refusals),
)]
#[put("/v1/equipment/{equipment}")]
pub(super) async fn change_equipment(
    allowed: Allowed<act::ChangeEquipment>,
    app: Data<App>,
    equipment: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<EquipmentChange>,
) -> Result<HttpResponse, ApiError> {
    let operation = ChangeEquipment {
        equipment: equipment.into_inner(),
        version: version.0,
        name: keyed.body.name,
        label: keyed.body.label,
        location: keyed.body.location_id,
    };
    let due = Due::of(&app, allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |piece, receipt| {
            let (answer, version) = (Equipment::of(piece, &due), Some(piece.version));
            render(StatusCode::OK, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
