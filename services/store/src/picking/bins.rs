//! The stock that setups may take from, by lot and place, with why some of it is not taken.

use crate::database::StoreError;
use crate::notices::watch::{self, Item, ItemLot};
use diesel::QueryableByName;
use diesel::sql_types::{Array, BigInt, Bool, Date as SqlDate, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil::Date;
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::picking::{Barred, Bin};
use std::collections::HashMap;
use uuid::Uuid;

/// What lies at one place of one lot.
#[derive(Clone, Debug)]
pub(super) struct Stock {
    /// What setups ask about it.
    pub(super) bin: Bin,
    /// The product's name.
    pub(super) product_name: String,
    /// The lot.
    pub(super) lot: Uuid,
    /// Its number as printed.
    pub(super) lot_number: Option<String>,
    /// The place.
    pub(super) location: Uuid,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = SqlUuid)]
    product_id: Uuid,
    #[diesel(sql_type = Text)]
    product_name: String,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = Nullable<Text>)]
    lot_number: Option<String>,
    #[diesel(sql_type = Nullable<SqlDate>)]
    expires_on: Option<jiff_diesel::Date>,
    #[diesel(sql_type = SqlUuid)]
    location_id: Uuid,
    #[diesel(sql_type = Text)]
    place: String,
    #[diesel(sql_type = BigInt)]
    quantity: i64,
    #[diesel(sql_type = BigInt)]
    reserved: i64,
    #[diesel(sql_type = Bool)]
    held: bool,
}

/// The stock of products and of kinds, as it is usable on a day. What was picked for open cases and
/// not scanned there yet lies with them, so it is left out.
pub(super) async fn stock(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    products: Vec<Uuid>,
    kinds: &[ProductKind],
    day: Date,
) -> Result<Vec<Stock>, StoreError> {
    let kinds: Vec<&str> = kinds.iter().map(|kind| kind.as_str()).collect();
    let rows: Vec<Row> = diesel::sql_query(
        "WITH out AS (
            SELECT k.lot_id, greatest(sum(CASE k.kind WHEN 'picked' THEN k.quantity ELSE -k.quantity END)
                - (SELECT count(*) FROM scans n JOIN uses u ON u.scan_id = n.id AND u.lot_id = n.lot_id
                   WHERE n.case_id = k.case_id AND n.lot_id = k.lot_id AND u.struck_at IS NULL), 0)::bigint AS quantity
            FROM picks k JOIN cases c ON c.id = k.case_id
            WHERE c.status IN ('preparation', 'in-progress')
            GROUP BY k.case_id, k.lot_id)
         SELECT l.product_id, p.name AS product_name, p.kind, l.id AS lot_id, l.number AS lot_number,
                l.expires_on, s.location_id, place.name AS place, s.quantity::bigint AS quantity,
                coalesce((SELECT sum(o.quantity) FROM out o WHERE o.lot_id = l.id), 0)::bigint AS reserved,
                EXISTS (SELECT FROM holds h WHERE h.product_id = l.product_id AND h.lifted_at IS NULL
                    AND (h.scope = 'product' OR h.lot_id = l.id
                         OR h.unit_id IN (SELECT u.id FROM units u WHERE u.lot_id = l.id AND u.location_id = s.location_id))) AS held
         FROM lots l
         JOIN stock_levels s ON s.lot_id = l.id
         JOIN products p ON p.id = l.product_id
         JOIN locations place ON place.id = s.location_id
         WHERE l.facility_id = $1 AND s.quantity > 0 AND (l.product_id = ANY ($2) OR p.kind = ANY ($3))
         ORDER BY l.id, place.name",
    )
    .bind::<SqlUuid, _>(facility)
    .bind::<Array<SqlUuid>, _>(products)
    .bind::<Array<Text>, _>(kinds)
    .load(connection)
    .await?;
    let ids: Vec<Uuid> = rows.iter().map(|row| row.product_id).collect();
    let notices = watch::of_products(connection, facility, ids).await?;
    let mut reserved: HashMap<Uuid, i64> = HashMap::new();
    let mut found = Vec::new();
    for row in rows {
        let expires_on = row.expires_on.map(|date| date.to_jiff());
        let item = Item {
            lots: vec![ItemLot {
                id: row.lot_id,
                number: row.lot_number.as_deref(),
                expires_on: [None, expires_on],
            }],
            ..Item::default()
        };
        let named = notices.get(&row.product_id);
        let named = named.is_some_and(|all| all.iter().any(|one| one.hit(&item).is_some()));
        let barred = if row.held {
            Some(Barred::Held)
        } else if named {
            Some(Barred::Named)
        } else {
            let expired = expires_on.is_some_and(|last| last < day);
            expired.then_some(Barred::Expired)
        };
        // What is out for cases came from one of the lot's places; which one is not on record.
        let out = reserved.entry(row.lot_id).or_insert(row.reserved);
        let gone = row.quantity.min(*out);
        *out -= gone;
        found.push(Stock {
            bin: Bin {
                product: row.product_id,
                kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
                place: row.place,
                expires_on,
                left: row.quantity - gone,
                barred,
            },
            product_name: row.product_name,
            lot: row.lot_id,
            lot_number: row.lot_number,
            location: row.location_id,
        });
    }
    Ok(found)
}
