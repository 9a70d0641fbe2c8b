//! `GET /v1/products` and `GET /v1/products/{product}`

use super::ProductShown;
use super::identifier::forms;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging, tagged};
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::catalogue::{self as store, ProductFilter};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Which products.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only the one that has this identifier: a GTIN, an HIBC code, an NDC, `agency:code`, or the
    /// text of a scanned label.
    #[param(example = "09520123456788", min_length = 1, max_length = 500)]
    identifier: Option<String>,
    /// Only those with this text in name, maker or model, in any case.
    #[param(example = "filter", min_length = 1, max_length = 200)]
    q: Option<String>,
    /// Only those described, or only those met by a label and not described yet.
    catalogued: Option<bool>,
}

/// Lists products in the order they were added.
#[utoipa::path(
    operation_id = "list_products", tag = "catalogue", params(Which, Paging),
    responses((status = 200, description = "A page of products.", body = List<ProductShown>), Refusals),
)]
#[get("/v1/products")]
pub(super) async fn list_products(
    allowed: Allowed<act::ListProducts>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let which = which.into_inner();
    let text = which.q.as_deref().unwrap_or("any");
    if text.is_empty() || text.chars().count() > 200 || text.contains('\0') {
        let error = FieldError::new("q", "must be 1 to 200 characters");
        return Err(ApiError::fields(vec![error]));
    }
    let filter = ProductFilter {
        codes: match &which.identifier {
            Some(identifier) => forms(&app, "identifier", identifier)?,
            None => Vec::new(),
        },
        text: which.q,
        catalogued: which.catalogued,
    };
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, &filter, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |product| ProductShown::from(&product))))
}

/// Shows a product.
#[utoipa::path(
    operation_id = "show_product", tag = "catalogue",
    params(("product" = Uuid, Path, description = "The product.")),
    responses((status = 200, description = "The product.", body = ProductShown), Refusals),
)]
#[get("/v1/products/{product}")]
pub(super) async fn show_product(
    allowed: Allowed<act::ShowProduct>,
    app: Data<App>,
    request: HttpRequest,
    product: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let product = store::show(&mut reading, product.into_inner()).await?;
    let product = product.ok_or_else(|| ApiError::no_such("product"))?;
    Ok(tagged(
        &request,
        product.version,
        &ProductShown::from(&product),
    ))
}
