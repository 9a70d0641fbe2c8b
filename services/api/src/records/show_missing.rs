//! `GET /v1/cases/{case}/missing`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::records as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What is still missing on a case by its preference list.
#[derive(Debug, Serialize, ToSchema)]
pub struct MissingOnCase {
    /// The list; none when the procedure has none, and then nothing can be said.
    #[serde(skip_serializing_if = "Option::is_none")]
    list_id: Option<Uuid>,
    /// The items of the list, alternatives counted in.
    items: Vec<MissingItem>,
}

/// An item of the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct MissingItem {
    /// The product.
    product_id: Uuid,
    /// Its name.
    product_name: String,
    /// To open.
    open: i64,
    /// To have available and not open.
    hold: i64,
    /// On the case.
    on_case: i64,
    /// To open and not on the case yet.
    missing: i64,
    /// In stock, whatever its outdate or hold.
    in_stock: i64,
    /// What the shelves lack for what is missing and to be held.
    short: i64,
}

impl From<&store::MissingItem> for MissingItem {
    fn from(item: &store::MissingItem) -> Self {
        Self {
            product_id: item.product.0,
            product_name: item.product.1.clone(),
            open: item.open,
            hold: item.hold,
            on_case: item.on_case,
            missing: item.missing(),
            in_stock: item.in_stock,
            short: item.short(),
        }
    }
}

/// Shows what is still missing on a case by the preference list of its procedure.
#[utoipa::path(
    operation_id = "show_missing", tag = "records",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "What is missing.", body = MissingOnCase), Refusals),
)]
#[get("/v1/cases/{case}/missing")]
pub(super) async fn show_missing(
    allowed: Allowed<act::ShowMissing>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let missing = store::show_missing(&mut reading, case.into_inner()).await?;
    let missing = missing.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(MissingOnCase {
        list_id: missing.list,
        items: missing.items.iter().map(MissingItem::from).collect(),
    }))
}
