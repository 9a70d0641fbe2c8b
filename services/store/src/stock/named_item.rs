//! An item as a person names it at a shelf.

use crate::database::StoreError;
use diesel::QueryableByName;
use diesel::sql_types::{Array, BigInt, Date, Integer, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::civil;
use lotwarden_domain::label::Label;
use std::collections::HashMap;
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

#[derive(QueryableByName)]
struct FoundRow {
    #[diesel(sql_type = BigInt)]
    item: i64,
    #[diesel(embed)]
    row: Row,
}

/// What is named, and how many units of use one package with that label has.
pub(super) type FoundItem = (ItemOnRecord, i32);

/// Finds what is named.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    named: &NamedItem,
) -> Result<Option<FoundItem>, StoreError> {
    let mut found = find_all(connection, facility, std::iter::once(named)).await?;
    Ok(found.remove(&0))
}

/// Finds what is named, in two queries however many there are; by the place of each.
pub(super) async fn find_all(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    named: impl Iterator<Item = &NamedItem>,
) -> Result<HashMap<usize, FoundItem>, StoreError> {
    let mut labels = Vec::new();
    let mut lots = Vec::new();
    for (at, named) in (0_i64..).zip(named) {
        match named {
            NamedItem::Label(label) => labels.push((at, label)),
            NamedItem::Lot { lot, unit } => lots.push((at, *lot, *unit)),
        }
    }
    let mut rows = Vec::new();
    if !labels.is_empty() {
        rows.extend(of_labels(connection, facility, &labels).await?);
    }
    if !lots.is_empty() {
        rows.extend(of_lots(connection, &lots).await?);
    }
    let rows = rows.into_iter().map(|FoundRow { item, row }| {
        let packed = row.packed;
        let at = usize::try_from(item).map_err(|_| StoreError::Unfit)?;
        Ok((at, (row.into(), packed)))
    });
    rows.collect()
}

async fn of_labels(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    labels: &[(i64, &Label)],
) -> Result<Vec<FoundRow>, StoreError> {
    let codes = labels.iter().flat_map(|(at, label)| {
        let codes = label.codes();
        codes.map(|code| (*at, (code.agency, code.code.as_str())))
    });
    let (items, (agencies, codes)): (Vec<i64>, (Vec<&str>, Vec<&str>)) = codes.unzip();
    let named: Vec<i64> = labels.iter().map(|(at, _)| *at).collect();
    let serials: Vec<_> = labels.iter().map(|(_, label)| &label.serial).collect();
    let numbers: Vec<_> = labels.iter().map(|(_, label)| &label.lot).collect();
    // The label's own code before another that stands for the same product.
    let rows = diesel::sql_query(
        "SELECT DISTINCT ON (q.item) q.item, p.id AS product_id, p.name AS product_name, l.id AS lot_id,
            l.number, l.expires_on, u.id AS unit_id, u.serial, i.quantity AS packed
         FROM unnest($2, $3, $4) WITH ORDINALITY AS q (item, agency, code, at)
         JOIN unnest($5, $6, $7) AS n (item, serial, number) ON n.item = q.item
         JOIN product_identifiers i ON i.facility_id = $1 AND i.agency = q.agency AND i.code = q.code
         JOIN products p ON p.id = i.product_id
         LEFT JOIN units u ON u.product_id = p.id AND u.serial = n.serial
         JOIN lots l ON l.product_id = p.id
            AND CASE WHEN u.id IS NULL THEN l.number IS NOT DISTINCT FROM n.number ELSE l.id = u.lot_id END
         WHERE n.serial IS NULL OR u.id IS NOT NULL
         ORDER BY q.item, q.at",
    )
    .bind::<SqlUuid, _>(facility)
    .bind::<Array<BigInt>, _>(items)
    .bind::<Array<Text>, _>(agencies)
    .bind::<Array<Text>, _>(codes)
    .bind::<Array<BigInt>, _>(named)
    .bind::<Array<Nullable<Text>>, _>(serials)
    .bind::<Array<Nullable<Text>>, _>(numbers)
    .load(connection)
    .await?;
    Ok(rows)
}

async fn of_lots(
    connection: &mut AsyncPgConnection,
    named: &[(i64, Uuid, Option<Uuid>)],
) -> Result<Vec<FoundRow>, StoreError> {
    let items: Vec<i64> = named.iter().map(|(at, ..)| *at).collect();
    let lots: Vec<Uuid> = named.iter().map(|(_, lot, _)| *lot).collect();
    let units: Vec<Option<Uuid>> = named.iter().map(|(.., unit)| *unit).collect();
    let rows = diesel::sql_query(
        "SELECT q.item, p.id AS product_id, p.name AS product_name, l.id AS lot_id, l.number, l.expires_on,
            u.id AS unit_id, u.serial, 1 AS packed
         FROM unnest($1, $2, $3) AS q (item, lot, unit)
         JOIN lots l ON l.id = q.lot JOIN products p ON p.id = l.product_id
         LEFT JOIN units u ON u.lot_id = l.id AND u.id = q.unit
         WHERE q.unit IS NULL OR u.id IS NOT NULL",
    )
    .bind::<Array<BigInt>, _>(items)
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Array<Nullable<SqlUuid>>, _>(units)
    .load(connection)
    .await?;
    Ok(rows)
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
