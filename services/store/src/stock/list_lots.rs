//! Reading lots.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{locations, lots, movements, products, stock_levels};
use diesel::dsl::sum;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::MovementKind;
use uuid::Uuid;

/// A product's lot.
#[derive(Clone, Debug)]
pub struct Lot {
    /// The lot.
    pub id: Uuid,
    /// The product.
    pub product: Uuid,
    /// Its name.
    pub product_name: String,
    /// The number as printed; none for the row of items whose lot was not recorded.
    pub number: Option<String>,
    /// The last usable day.
    pub expires_on: Option<Date>,
    /// The day of manufacture.
    pub manufactured_on: Option<Date>,
}

/// Which lots are asked for.
#[derive(Clone, Debug, Default)]
pub struct LotFilter {
    /// Only of this product.
    pub product: Option<Uuid>,
    /// Only with this number, exactly as printed.
    pub number: Option<String>,
    /// Only what is not usable on this day any more.
    pub expires_before: Option<Date>,
}

/// What came and went of a lot, in units of use.
#[derive(Clone, Debug, Default)]
pub struct LotSums {
    /// Received.
    pub received: i64,
    /// Taken for cases.
    pub used: i64,
    /// Come back from cases.
    pub returned: i64,
    /// Sent back to the firm.
    pub sent_back: i64,
    /// Destroyed.
    pub destroyed: i64,
    /// What counts found beyond the record; negative for what was missing.
    pub adjusted: i64,
    /// On hand, by place.
    pub on_hand: Vec<OnHand>,
}

/// What is on hand at one place.
#[derive(Clone, Debug)]
pub struct OnHand {
    /// The place.
    pub location: Uuid,
    /// Its name.
    pub location_name: String,
    /// Units of use.
    pub quantity: i32,
}

type Row = (
    Uuid,
    Uuid,
    String,
    Option<String>,
    jiff_diesel::NullableDate,
    jiff_diesel::NullableDate,
);

const COLUMNS: (
    lots::id,
    lots::product_id,
    products::name,
    lots::number,
    lots::expires_on,
    lots::manufactured_on,
) = (
    lots::id,
    lots::product_id,
    products::name,
    lots::number,
    lots::expires_on,
    lots::manufactured_on,
);

fn lot((id, product, product_name, number, expires_on, manufactured_on): Row) -> Lot {
    Lot {
        id,
        product,
        product_name,
        number,
        expires_on: expires_on.to_jiff(),
        manufactured_on: manufactured_on.to_jiff(),
    }
}

/// Lists lots in the order they were met.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: &LotFilter,
    after: After,
) -> Result<Page<Lot>, StoreError> {
    let mut query = lots::table
        .inner_join(products::table.on(products::id.eq(lots::product_id)))
        .filter(lots::facility_id.eq(reading.facility()))
        .filter(lots::id.gt(after.start()))
        .order(lots::id)
        .limit(after.fetch())
        .select(COLUMNS)
        .into_boxed();
    if let Some(product) = filter.product {
        query = query.filter(lots::product_id.eq(product));
    }
    if let Some(number) = &filter.number {
        query = query.filter(lots::number.eq(number));
    }
    if let Some(day) = filter.expires_before {
        query = query.filter(lots::expires_on.lt(day.to_diesel()));
    }
    let rows: Vec<Row> = query.load(reading.connection()).await?;
    let items = rows.into_iter().map(lot).collect();
    Ok(Page::of(items, after, |lot: &Lot| lot.id))
}

/// Shows one lot with what came and went of it; none when there is no such lot.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<(Lot, LotSums)>, StoreError> {
    let row: Option<Row> = lots::table
        .inner_join(products::table.on(products::id.eq(lots::product_id)))
        .filter(lots::id.eq(id))
        .select(COLUMNS)
        .first(reading.connection())
        .await
        .optional()?;
    let Some(row) = row else {
        return Ok(None);
    };
    let moved: Vec<(String, Option<i64>)> = movements::table
        .filter(movements::lot_id.eq(id))
        .group_by(movements::kind)
        .select((movements::kind, sum(movements::quantity)))
        .load(reading.connection())
        .await?;
    let mut sums = LotSums::default();
    for (kind, quantity) in moved {
        let quantity = quantity.unwrap_or_default();
        match kind.parse().map_err(|_| StoreError::Unfit)? {
            MovementKind::Received => sums.received = quantity,
            MovementKind::Used => sums.used = -quantity,
            MovementKind::Returned => sums.returned = quantity,
            MovementKind::SentBack => sums.sent_back = -quantity,
            MovementKind::Destroyed => sums.destroyed = -quantity,
            MovementKind::Adjusted => sums.adjusted = quantity,
            // What left one place came to another.
            MovementKind::Moved => {}
        }
    }
    let rows: Vec<(Uuid, String, i32)> = stock_levels::table
        .inner_join(locations::table.on(locations::id.eq(stock_levels::location_id)))
        .filter(stock_levels::lot_id.eq(id))
        .filter(stock_levels::quantity.gt(0))
        .order(locations::name)
        .select((locations::id, locations::name, stock_levels::quantity))
        .load(reading.connection())
        .await?;
    sums.on_hand = rows
        .into_iter()
        .map(|(location, location_name, quantity)| OnHand {
            location,
            location_name,
            quantity,
        })
        .collect();
    Ok(Some((lot(row), sums)))
}
