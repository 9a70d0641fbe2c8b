//! `GET /v1/mixes` and `GET /v1/mixes/{mix}`

use super::mix::Mix;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::mixes as store;
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Which mixes.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those of a case.
    case_id: Option<Uuid>,
}

/// Lists mixes in the order they were ordered, without weights.
#[utoipa::path(
    operation_id = "list_mixes", tag = "mixes", params(Which, Paging),
    responses((status = 200, description = "A page of mixes.", body = List<Mix>), Refusals),
)]
#[get("/v1/mixes")]
pub(super) async fn list_mixes(
    allowed: Allowed<act::ListMixes>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, which.case_id, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |mix| Mix::from(&mix))))
}

/// Shows a mix: its ingredients, concentrations over the whole volume, doses and balance.
#[utoipa::path(
    operation_id = "show_mix", tag = "mixes",
    params(("mix" = Uuid, Path, description = "The mix.")),
    responses((status = 200, description = "The mix.", body = Mix), Refusals),
)]
#[get("/v1/mixes/{mix}")]
pub(super) async fn show_mix(
    allowed: Allowed<act::ShowMix>,
    app: Data<App>,
    request: HttpRequest,
    mix: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let mix = store::show(&mut reading, mix.into_inner()).await?;
    let mix = mix.ok_or_else(|| ApiError::no_such("mix"))?;
    Ok(tagged(&request, mix.version, &Mix::from(&mix)))
}
