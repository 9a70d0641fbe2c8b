//! `POST /v1/equipment/{equipment}/out-of-service` and `POST /v1/equipment/{equipment}/return`

use super::{Due, Equipment};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::equipment::{ReturnEquipment, ServiceStateRefusal, TakeOutOfService};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Why equipment leaves service or comes back.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServiceReason {
    /// Why.
    #[schema(
        example = "The cable is frayed at the plug.",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for ServiceReason {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<ServiceStateRefusal> for ApiError {
    fn from(refusal: ServiceStateRefusal) -> Self {
        match refusal {
            ServiceStateRefusal::NoSuchEquipment => ApiError::no_such("equipment"),
            ServiceStateRefusal::Stale => ApiError::new(&catalogue::STALE),
            ServiceStateRefusal::AlreadySo => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Takes a piece of equipment out of service: from then on it stops at every setup. Whoever finds
/// the fault does so at once, so no version is asked for.
#[utoipa::path(
    operation_id = "take_out_of_service", tag = "equipment", request_body = ServiceReason,
    params(("equipment" = Uuid, Path, description = "The piece."), IdempotencyKey),
    responses((status = 200, description = "Out of service.", body = Equipment), Refusals),
)]
#[post("/v1/equipment/{equipment}/out-of-service")]
pub(super) async fn take_out_of_service(
    allowed: Allowed<act::TakeOutOfService>,
    app: Data<App>,
    equipment: Path<Uuid>,
    keyed: Keyed<ServiceReason>,
) -> Result<HttpResponse, ApiError> {
    let operation = TakeOutOfService {
        equipment: equipment.into_inner(),
        reason: keyed.body.reason,
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

/// Returns a piece of equipment to service.
#[utoipa::path(
    operation_id = "return_equipment", tag = "equipment", request_body = ServiceReason,
    params(("equipment" = Uuid, Path, description = "The piece."), Change, IdempotencyKey),
    responses((status = 200, description = "In service.", body = Equipment), Refusals),
)]
#[post("/v1/equipment/{equipment}/return")]
pub(super) async fn return_equipment(
    allowed: Allowed<act::ReturnEquipment>,
    app: Data<App>,
    equipment: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<ServiceReason>,
) -> Result<HttpResponse, ApiError> {
    let operation = ReturnEquipment {
        equipment: equipment.into_inner(),
        version: version.0,
        reason: keyed.body.reason,
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
