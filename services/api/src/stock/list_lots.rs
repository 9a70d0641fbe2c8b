//! `GET /v1/lots` and `GET /v1/lots/{lot}`

use super::day;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::stock::{self as store, LotFilter};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which lots.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only of this product.
    product_id: Option<Uuid>,
    /// Only with this number, exactly as printed.
    #[param(example = "L2611A", min_length = 1, max_length = 50)]
    number: Option<String>,
    /// Only what is not usable on this day any more.
    #[param(value_type = Option<String>, format = Date)]
    expires_before: Option<Date>,
}

/// A product's lot.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotSummary {
    /// The lot.
    id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[schema(example = "Inline smoke filter, 22 mm")]
    product_name: String,
    /// The number, exactly as printed; none for items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "L2611A")]
    number: Option<String>,
    /// The last usable day.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    expires_on: Option<String>,
    /// The day of manufacture.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    manufactured_on: Option<String>,
}

/// A lot with what came and went of it, in units of use.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotShown {
    /// The lot.
    #[serde(flatten)]
    lot: LotSummary,
    /// Received.
    #[schema(example = 30)]
    received: i64,
    /// Taken for cases.
    #[schema(example = 4)]
    used: i64,
    /// Come back from cases.
    #[schema(example = 1)]
    returned: i64,
    /// Sent back to the firm.
    #[schema(example = 0)]
    sent_back: i64,
    /// Destroyed.
    #[schema(example = 0)]
    destroyed: i64,
    /// What counts found beyond the record; negative for what was missing.
    #[schema(example = 0)]
    adjusted: i64,
    /// On hand, by place.
    on_hand: Vec<LotAtPlace>,
}

/// What is on hand of a lot at one place.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotAtPlace {
    /// The place.
    location_id: Uuid,
    /// Its name.
    #[schema(example = "Shelf 4")]
    location_name: String,
    /// Units of use.
    #[schema(example = 27)]
    quantity: i32,
}

impl From<store::Lot> for LotSummary {
    fn from(lot: store::Lot) -> Self {
        Self {
            id: lot.id,
            product_id: lot.product,
            product_name: lot.product_name,
            number: lot.number,
            expires_on: day(lot.expires_on),
            manufactured_on: day(lot.manufactured_on),
        }
    }
}

/// Lists lots in the order they were met.
#[utoipa::path(
    operation_id = "list_lots", tag = "stock", params(Which, Paging),
    responses((status = 200, description = "A page of lots.", body = List<LotSummary>), Refusals),
)]
#[get("/v1/lots")]
pub(super) async fn list_lots(
    allowed: Allowed<act::ListLots>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let Which {
        product_id,
        number,
        expires_before,
    } = which.into_inner();
    let fits =
        |number: &String| (1..=50).contains(&number.chars().count()) && !number.contains('\0');
    if !number.as_ref().is_none_or(fits) {
        let error = FieldError::new("number", "must be 1 to 50 characters, without U+0000");
        return Err(ApiError::fields(vec![error]));
    }
    let filter = LotFilter {
        product: product_id,
        number,
        expires_before,
    };
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_lots(&mut reading, &filter, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, LotSummary::from)))
}

/// Shows a lot with what came and went of it.
#[utoipa::path(
    operation_id = "show_lot", tag = "stock",
    params(("lot" = Uuid, Path, description = "The lot.")),
    responses((status = 200, description = "The lot.", body = LotShown), Refusals),
)]
#[get("/v1/lots/{lot}")]
pub(super) async fn show_lot(
    allowed: Allowed<act::ShowLot>,
    app: Data<App>,
    lot: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show_lot(&mut reading, lot.into_inner()).await?;
    let (lot, sums) = shown.ok_or_else(|| ApiError::no_such("lot"))?;
    let on_hand = sums.on_hand.into_iter().map(|place| LotAtPlace {
        location_id: place.location,
        location_name: place.location_name,
        quantity: place.quantity,
    });
    Ok(HttpResponse::Ok().json(LotShown {
        lot: lot.into(),
        received: sums.received,
        used: sums.used,
        returned: sums.returned,
        sent_back: sums.sent_back,
        destroyed: sums.destroyed,
        adjusted: sums.adjusted,
        on_hand: on_hand.collect(),
    }))
}
