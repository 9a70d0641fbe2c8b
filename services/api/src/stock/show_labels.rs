//! `GET /v1/locations/labels`

use super::location_label::{drawing, unprintable};
use crate::access::Allowed;
use crate::app::App;
use crate::http::Paging;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_documents::{Paper, sheet};
use lotwarden_domain::access::act;
use lotwarden_store::stock as store;

/// Gives the labels of places as PDF sheets on A4, in the order of the list of places and with
/// its pages.
#[utoipa::path(
    operation_id = "show_labels", tag = "stock", params(Paging),
    responses(
        (status = 200, description = "The sheets.", body = String, content_type = "application/pdf"),
        Refusals,
    ),
)]
#[get("/v1/locations/labels")]
pub(super) async fn show_labels(
    allowed: Allowed<act::ShowLabels>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_locations(&mut reading, after).await?;
    let drawings = page
        .items
        .iter()
        .map(drawing)
        .collect::<Result<Vec<_>, _>>()?;
    let bytes = sheet(&drawings, Paper::A4).map_err(unprintable)?;
    Ok(HttpResponse::Ok()
        .content_type("application/pdf")
        .body(bytes))
}
