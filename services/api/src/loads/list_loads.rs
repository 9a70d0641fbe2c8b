//! `GET /v1/loads` and `GET /v1/loads/{load}`

use super::load::{Load, Reached};
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::loads as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A load with the cases it reached.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadShown {
    /// The load.
    #[serde(flatten)]
    load: Load,
    /// The cases it reached so far; more may come while its pieces are in use.
    reached: Vec<Reached>,
}

/// Lists loads in the order they were put on record.
#[utoipa::path(
    operation_id = "list_loads", tag = "loads", params(Paging),
    responses((status = 200, description = "A page of loads.", body = List<Load>), Refusals),
)]
#[get("/v1/loads")]
pub(super) async fn list_loads(
    allowed: Allowed<act::ListLoads>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |load| Load::from(&load))))
}

/// Shows a load with its packs, its indicators, and the cases it reached. Without an entity tag
/// for caching: cases are reached without a change of the load.
#[utoipa::path(
    operation_id = "show_load", tag = "loads",
    params(("load" = Uuid, Path, description = "The load.")),
    responses((status = 200, description = "The load.", body = LoadShown), Refusals),
)]
#[get("/v1/loads/{load}")]
pub(super) async fn show_load(
    allowed: Allowed<act::ShowLoad>,
    app: Data<App>,
    load: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show(&mut reading, load.into_inner()).await?;
    let (load, reached) = shown.ok_or_else(|| ApiError::no_such("load"))?;
    Ok(HttpResponse::Ok().json(LoadShown {
        load: Load::from(&load),
        reached: reached.iter().map(Reached::from).collect(),
    }))
}
