//! What is on hand, first to expire first.

use crate::database::{Reading, StoreError};
use diesel::QueryableByName;
use diesel::sql_types::{Bool, Date as SqlDate, Integer, Nullable, Text, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use uuid::Uuid;

/// Which stock is asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct StockFilter {
    /// Only at this place.
    pub location: Option<Uuid>,
    /// Only of this product.
    pub product: Option<Uuid>,
    /// Only of this lot.
    pub lot: Option<Uuid>,
    /// Only what is not usable on this day any more.
    pub expires_before: Option<Date>,
}

/// The row that a page ended with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StockCursor {
    /// Its lot.
    pub lot: Uuid,
    /// Its place.
    pub location: Uuid,
}

/// What is on hand of one lot at one place.
#[derive(Clone, Debug)]
pub struct StockRow {
    /// The product.
    pub product: Uuid,
    /// Its name.
    pub product_name: String,
    /// The lot.
    pub lot: Uuid,
    /// Its number as printed; none when it was not recorded.
    pub lot_number: Option<String>,
    /// The last usable day on record.
    pub expires_on: Option<Date>,
    /// The place.
    pub location: Uuid,
    /// Its name.
    pub location_name: String,
    /// Units of use.
    pub quantity: i32,
    /// Whether a hold bars the product, the lot, or a piece of it at this place.
    pub held: bool,
}

/// Rows in the order of their last usable day; lots without one come last.
#[derive(Clone, Debug)]
pub struct StockPage {
    /// The rows.
    pub items: Vec<StockRow>,
    /// The last row, when more follow.
    pub next: Option<StockCursor>,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = SqlUuid)]
    product_id: Uuid,
    #[diesel(sql_type = Text)]
    product_name: String,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = Nullable<Text>)]
    lot_number: Option<String>,
    #[diesel(sql_type = Nullable<SqlDate>)]
    expires_on: Option<jiff_diesel::Date>,
    #[diesel(sql_type = SqlUuid)]
    location_id: Uuid,
    #[diesel(sql_type = Text)]
    location_name: String,
    #[diesel(sql_type = Integer)]
    quantity: i32,
    #[diesel(sql_type = Bool)]
    held: bool,
}

/// Lists what is on hand by lot and place, first to expire first.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: StockFilter,
    after: Option<StockCursor>,
    limit: u16,
) -> Result<StockPage, StoreError> {
    let facility = reading.facility();
    let rows: Vec<Row> = diesel::sql_query(
        "SELECT l.product_id, p.name AS product_name, s.lot_id, l.number AS lot_number, l.expires_on,
                s.location_id, place.name AS location_name, s.quantity,
                EXISTS (SELECT FROM holds h WHERE h.product_id = l.product_id AND h.lifted_at IS NULL
                    AND (h.scope = 'product' OR h.lot_id = l.id
                         OR h.unit_id IN (SELECT u.id FROM units u WHERE u.lot_id = l.id AND u.location_id = s.location_id))) AS held
         FROM lots l
         JOIN stock_levels s ON s.lot_id = l.id
         JOIN products p ON p.id = l.product_id
         JOIN locations place ON place.id = s.location_id
         WHERE l.facility_id = $1 AND s.quantity > 0
           AND ($2 IS NULL OR s.location_id = $2)
           AND ($3 IS NULL OR l.product_id = $3)
           AND ($4 IS NULL OR l.id = $4)
           AND ($5 IS NULL OR l.expires_on < $5)
           AND ($6 IS NULL OR (coalesce(l.expires_on, 'infinity'), l.id, s.location_id)
                > (SELECT coalesce(c.expires_on, 'infinity'), c.id, $7 FROM lots c WHERE c.id = $6))
         ORDER BY l.expires_on, l.id, s.location_id
         LIMIT $8",
    )
    .bind::<SqlUuid, _>(facility)
    .bind::<Nullable<SqlUuid>, _>(filter.location)
    .bind::<Nullable<SqlUuid>, _>(filter.product)
    .bind::<Nullable<SqlUuid>, _>(filter.lot)
    .bind::<Nullable<SqlDate>, _>(crate::moment::date(filter.expires_before))
    .bind::<Nullable<SqlUuid>, _>(after.map(|after| after.lot))
    .bind::<Nullable<SqlUuid>, _>(after.map(|after| after.location))
    .bind::<Integer, _>(i32::from(limit) + 1)
    .load(reading.connection())
    .await?;
    let mut items: Vec<StockRow> = rows.into_iter().map(StockRow::from).collect();
    let more = items.len() > usize::from(limit);
    items.truncate(usize::from(limit));
    let last = items.last().filter(|_| more);
    let next = last.map(|row| StockCursor {
        lot: row.lot,
        location: row.location,
    });
    Ok(StockPage { items, next })
}

impl From<Row> for StockRow {
    fn from(row: Row) -> Self {
        Self {
            product: row.product_id,
            product_name: row.product_name,
            lot: row.lot_id,
            lot_number: row.lot_number,
            expires_on: row.expires_on.map(|date| date.to_jiff()),
            location: row.location_id,
            location_name: row.location_name,
            quantity: row.quantity,
            held: row.held,
        }
    }
}
