//! An item as a person names it at a shelf.

use crate::database::StoreError;
use diesel::QueryableByName;
use diesel::prelude::*;
use diesel::sql_types::{Array, Date, Integer, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil;
use lotwarden_domain::label::Label;
use uuid::Uuid;

/// An item by its label, or by its lot and piece.
#[derive(Clone, Debug)]
pub enum NamedItem {
    /// As its label was read.
    Label(Label),
    /// By ids.
    Lot {
        /// The lot.
        lot: Uuid,
        /// The serialised piece of it.
        unit: Option<Uuid>,
    },
}

/// A lot, or one piece of it, with the words it is known by.
#[derive(Clone, Debug)]
pub struct ItemOnRecord {
    /// The product.
    pub product: Uuid,
    /// Its name.
    pub product_name: String,
    /// The lot.
    pub lot: Uuid,
    /// Its number as printed; none when it was not recorded.
    pub lot_number: Option<String>,
    /// The last usable day on record.
    pub expires_on: Option<civil::Date>,
    /// The piece.
    pub unit: Option<Uuid>,
    /// Its serial as printed.
    pub serial: Option<String>,
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
    number: Option<String>,
    #[diesel(sql_type = Nullable<Date>)]
    expires_on: Option<jiff_diesel::Date>,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_id: Option<Uuid>,
    #[diesel(sql_type = Nullable<Text>)]
    serial: Option<String>,
    #[diesel(sql_type = Integer)]
    packed: i32,
}

impl From<Row> for ItemOnRecord {
    fn from(row: Row) -> Self {
        Self {
            product: row.product_id,
            product_name: row.product_name,
            lot: row.lot_id,
            lot_number: row.number,
            expires_on: row.expires_on.map(|date| date.to_jiff()),
            unit: row.unit_id,
            serial: row.serial,
        }
    }
}

/// Finds what is named, and how many units of use one package with that label has.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    named: &NamedItem,
) -> Result<Option<(ItemOnRecord, i32)>, StoreError> {
    let row: Option<Row> = match named {
        NamedItem::Label(label) => {
            // The label's own code before another that stands for the same product.
            diesel::sql_query(
                "SELECT p.id AS product_id, p.name AS product_name, l.id AS lot_id, l.number, l.expires_on,
                    u.id AS unit_id, u.serial, i.quantity AS packed
                 FROM unnest($2, $3) WITH ORDINALITY AS q (agency, code, at)
                 JOIN product_identifiers i ON i.facility_id = $1 AND i.agency = q.agency AND i.code = q.code
                 JOIN products p ON p.id = i.product_id
                 LEFT JOIN units u ON u.product_id = p.id AND u.serial = $4
                 JOIN lots l ON l.product_id = p.id
                    AND CASE WHEN u.id IS NULL THEN l.number IS NOT DISTINCT FROM $5 ELSE l.id = u.lot_id END
                 WHERE $4 IS NULL OR u.id IS NOT NULL
                 ORDER BY q.at LIMIT 1",
            )
            .bind::<SqlUuid, _>(facility)
            .bind::<Array<Text>, _>(label.codes().map(|code| code.agency).collect::<Vec<_>>())
            .bind::<Array<Text>, _>(label.codes().map(|code| &code.code).collect::<Vec<_>>())
            .bind::<Nullable<Text>, _>(&label.serial)
            .bind::<Nullable<Text>, _>(&label.lot)
            .get_result(connection)
            .await
            .optional()?
        }
        NamedItem::Lot { lot, unit } => diesel::sql_query(
            "SELECT p.id AS product_id, p.name AS product_name, l.id AS lot_id, l.number, l.expires_on,
                u.id AS unit_id, u.serial, 1 AS packed
             FROM lots l JOIN products p ON p.id = l.product_id
             LEFT JOIN units u ON u.lot_id = l.id AND u.id = $2
             WHERE l.id = $1 AND ($2 IS NULL OR u.id IS NOT NULL)",
        )
        .bind::<SqlUuid, _>(lot)
        .bind::<Nullable<SqlUuid>, _>(unit)
        .get_result(connection)
        .await
        .optional()?,
    };
    Ok(row.map(|row| {
        let packed = row.packed;
        (row.into(), packed)
    }))
}

/// Reads many items by lot and piece, in the order they are given.
pub(super) async fn all(
    connection: &mut AsyncPgConnection,
    items: &[(Uuid, Option<Uuid>)],
) -> Result<Vec<ItemOnRecord>, StoreError> {
    let (lots, units): (Vec<Uuid>, Vec<Option<Uuid>>) = items.iter().copied().unzip();
    let rows: Vec<Row> = diesel::sql_query(
        "SELECT p.id AS product_id, p.name AS product_name, l.id AS lot_id, l.number, l.expires_on,
            u.id AS unit_id, u.serial, 1 AS packed
         FROM unnest($1, $2) WITH ORDINALITY AS q (lot, unit, at)
         JOIN lots l ON l.id = q.lot JOIN products p ON p.id = l.product_id
         LEFT JOIN units u ON u.id = q.unit
         ORDER BY q.at",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Array<Nullable<SqlUuid>>, _>(units)
    .load(connection)
    .await?;
    if rows.len() == items.len() {
        Ok(rows.into_iter().map(ItemOnRecord::from).collect())
    } else {
        Err(StoreError::Unfit)
    }
}
