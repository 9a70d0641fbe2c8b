//! `GET /v1/holds` and `GET /v1/holds/{hold}`

use super::Hold;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::holds::{self as store, HoldFilter};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Which holds.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those in force, or only those lifted.
    in_force: Option<bool>,
    /// Only those on a product, its lots and pieces.
    product_id: Option<Uuid>,
}

/// Lists holds in the order they were placed.
#[utoipa::path(
    operation_id = "list_holds", tag = "holds", params(Which, Paging),
    responses((status = 200, description = "A page of holds.", body = List<Hold>), Refusals),
)]
#[get("/v1/holds")]
pub(super) async fn list_holds(
    allowed: Allowed<act::ListHolds>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let filter = HoldFilter {
        in_force: which.in_force,
        product: which.product_id,
    };
    let page = store::list(&mut reading, filter, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |hold| Hold::from(&hold))))
}

/// Shows a hold.
#[utoipa::path(
    operation_id = "show_hold", tag = "holds",
    params(("hold" = Uuid, Path, description = "The hold.")),
    responses((status = 200, description = "The hold.", body = Hold), Refusals),
)]
#[get("/v1/holds/{hold}")]
pub(super) async fn show_hold(
    allowed: Allowed<act::ShowHold>,
    app: Data<App>,
    request: HttpRequest,
    hold: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let hold = store::show(&mut reading, hold.into_inner()).await?;
    let hold = hold.ok_or_else(|| ApiError::no_such("hold"))?;
    Ok(tagged(&request, hold.version, &Hold::from(&hold)))
}
