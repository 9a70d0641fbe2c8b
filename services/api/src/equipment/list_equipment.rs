//! `GET /v1/equipment` and `GET /v1/equipment/{equipment}`

use super::{Due, Equipment};
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::equipment as store;
use uuid::Uuid;

/// Lists equipment in the order it was put on record, each with what is due today.
#[utoipa::path(
    operation_id = "list_equipment", tag = "equipment", params(Paging),
    responses((status = 200, description = "A page of equipment.", body = List<Equipment>), Refusals),
)]
#[get("/v1/equipment")]
pub(super) async fn list_equipment(
    allowed: Allowed<act::ListEquipment>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let due = Due::of(&app, allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |piece| Equipment::of(&piece, &due))))
}

/// Shows a piece of equipment with its services, its filter and what is due today.
#[utoipa::path(
    operation_id = "show_equipment", tag = "equipment",
    params(("equipment" = Uuid, Path, description = "The piece.")),
    responses((status = 200, description = "The equipment.", body = Equipment), Refusals),
)]
#[get("/v1/equipment/{equipment}")]
pub(super) async fn show_equipment(
    allowed: Allowed<act::ShowEquipment>,
    app: Data<App>,
    request: HttpRequest,
    equipment: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let due = Due::of(&app, allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let piece = store::show(&mut reading, equipment.into_inner()).await?;
    let piece = piece.ok_or_else(|| ApiError::no_such("equipment"))?;
    let answer = Equipment::of(&piece, &due);
    Ok(tagged(&request, piece.version, &answer))
}
