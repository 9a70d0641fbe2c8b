//! `GET /v1/stock`

use super::day;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::stock::{self as store, StockCursor, StockFilter};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which stock.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only at this place.
    location_id: Option<Uuid>,
    /// Only of this product.
    product_id: Option<Uuid>,
    /// Only of this lot.
    lot_id: Option<Uuid>,
    /// Only what is not usable on this day any more.
    #[param(value_type = Option<String>, format = Date)]
    expires_before: Option<Date>,
}

/// What is on hand of one lot at one place.
#[derive(Debug, Serialize, ToSchema)]
pub struct StockOnHand {
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[schema(example = "Inline smoke filter, 22 mm")]
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed; none when it was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "L2611A")]
    lot: Option<String>,
    /// The last usable day on record.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    expires_on: Option<String>,
    /// The place.
    location_id: Uuid,
    /// Its name.
    #[schema(example = "Shelf 4")]
    location_name: String,
    /// Units of use.
    #[schema(example = 30)]
    quantity: i32,
    /// Whether a hold bars the product, the lot, or a piece of it at this place.
    held: bool,
}

impl From<store::StockRow> for StockOnHand {
    fn from(row: store::StockRow) -> Self {
        Self {
            product_id: row.product,
            product_name: row.product_name,
            lot_id: row.lot,
            lot: row.lot_number,
            expires_on: day(row.expires_on),
            location_id: row.location,
            location_name: row.location_name,
            quantity: row.quantity,
            held: row.held,
        }
    }
}

/// Lists what is on hand by lot and place, first to expire first; lots without a date come last.
#[utoipa::path(
    operation_id = "list_stock", tag = "stock", params(Which, Paging),
    responses((status = 200, description = "A page of stock.", body = List<StockOnHand>), Refusals),
)]
#[get("/v1/stock")]
pub(super) async fn list_stock(
    allowed: Allowed<act::ListStock>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let Paging { cursor, limit } = paging.into_inner();
    let limit = Paging {
        cursor: None,
        limit,
    }
    .after()?
    .limit;
    let after = cursor.as_deref().map(cursor_of).transpose()?;
    let filter = StockFilter {
        location: which.location_id,
        product: which.product_id,
        lot: which.lot_id,
        expires_before: which.expires_before,
    };
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_stock(&mut reading, filter, after, limit).await?;
    Ok(HttpResponse::Ok().json(List {
        items: page.items.into_iter().map(StockOnHand::from).collect(),
        next: page.next.map(text_of),
    }))
}

/// A row is found by lot and place, so the cursor is both ids.
fn text_of(cursor: StockCursor) -> String {
    let ids = [*cursor.lot.as_bytes(), *cursor.location.as_bytes()];
    URL_SAFE_NO_PAD.encode(ids.concat())
}

fn cursor_of(text: &str) -> Result<StockCursor, ApiError> {
    let bytes = URL_SAFE_NO_PAD.decode(text).unwrap_or_default();
    let ids = bytes.split_at_checked(16).and_then(|(lot, location)| {
        let lot = Uuid::from_slice(lot).ok()?;
        let location = Uuid::from_slice(location).ok()?;
        Some(StockCursor { lot, location })
    });
    ids.ok_or_else(|| {
        let error = FieldError::new("cursor", "must be the next of an earlier page");
        ApiError::fields(vec![error])
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_cursor_comes_back_as_it_went() {
        let cursor = StockCursor {
            lot: Uuid::from_u128(1),
            location: Uuid::from_u128(2),
        };
        assert_eq!(cursor_of(&text_of(cursor)).unwrap(), cursor);
        for other in ["", "AAAA", "%", &"A".repeat(64)] {
            assert!(cursor_of(other).is_err(), "{other}");
        }
    }
}
