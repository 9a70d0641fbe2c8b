//! `GET /v1/cylinders` and `GET /v1/cylinders/{cylinder}`

use super::Cylinder;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::cylinders as store;
use uuid::Uuid;

/// Lists cylinders in the order their fills were put on record.
#[utoipa::path(
    operation_id = "list_cylinders", tag = "cylinders", params(Paging),
    responses((status = 200, description = "A page of cylinders.", body = List<Cylinder>), Refusals),
)]
#[get("/v1/cylinders")]
pub(super) async fn list_cylinders(
    allowed: Allowed<act::ListCylinders>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let today = app.today(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, paging.after()?).await?;
    let list = List::of(page, |cylinder| Cylinder::of(&cylinder, today));
    Ok(HttpResponse::Ok().json(list))
}

/// Shows a cylinder: what is left with its band, what flowed on each case, what to look at.
#[utoipa::path(
    operation_id = "show_cylinder", tag = "cylinders",
    params(("cylinder" = Uuid, Path, description = "The fill.")),
    responses((status = 200, description = "The cylinder.", body = Cylinder), Refusals),
)]
#[get("/v1/cylinders/{cylinder}")]
pub(super) async fn show_cylinder(
    allowed: Allowed<act::ShowCylinder>,
    app: Data<App>,
    request: HttpRequest,
    cylinder: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let today = app.today(allowed.caller.facility).await?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show(&mut reading, cylinder.into_inner()).await?;
    let shown = shown.ok_or_else(|| ApiError::no_such("cylinder"))?;
    Ok(tagged(
        &request,
        shown.version,
        &Cylinder::of(&shown, today),
    ))
}
