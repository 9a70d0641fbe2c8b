//! Vials as their rows say, with what was drawn.

use super::Vial;
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::Writing;
use crate::schema::{lots, products, vial_draws, vials};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Which vials are read.
pub(crate) enum Asked<'a> {
    /// One.
    One(Uuid),
    /// The vials of products that were not discarded.
    OpenOf(&'a [Uuid]),
    /// The vials after one, at most so many; only those not discarded if told so.
    After(Uuid, i64, bool),
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = vials)]
struct Row {
    id: Uuid,
    product_id: Uuid,
    lot_id: Uuid,
    unit_id: Option<Uuid>,
    name: String,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    punctured_on: Date,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    last_day: Date,
    volume_ml: Decimal,
    opened_by: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    opened_at: Timestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    discarded_at: jiff_diesel::NullableTimestamp,
    discard_reason: Option<String>,
}

/// Reads vials in the order they were punctured.
pub(crate) async fn of(
    connection: &mut AsyncPgConnection,
    asked: Asked<'_>,
) -> Result<Vec<Vial>, StoreError> {
    let query = vials::table
        .inner_join(products::table.on(products::id.eq(vials::product_id)))
        .inner_join(lots::table.on(lots::id.eq(vials::lot_id)))
        .order(vials::id)
        .select((Row::as_select(), products::name, lots::number))
        .into_boxed();
    let query = match asked {
        Asked::One(id) => query.filter(vials::id.eq(id)),
        Asked::OpenOf(products) => query
            .filter(vials::product_id.eq_any(products.to_vec()))
            .filter(vials::discarded_at.is_null()),
        Asked::After(id, limit, false) => query.filter(vials::id.gt(id)).limit(limit),
        Asked::After(id, limit, true) => query
            .filter(vials::id.gt(id))
            .filter(vials::discarded_at.is_null())
            .limit(limit),
    };
    let rows: Vec<(Row, String, Option<String>)> = query.load(connection).await?;
    if rows.is_empty() {
        return Ok(Vec::new());
    }
    let ids: Vec<Uuid> = rows.iter().map(|row| row.0.id).collect();
    let draws: Vec<(Uuid, Decimal)> = vial_draws::table
        .filter(vial_draws::vial_id.eq_any(ids))
        .select((vial_draws::vial_id, vial_draws::volume_ml))
        .load(connection)
        .await?;
    let vial = |(row, product, number): (Row, String, Option<String>)| Vial {
        drawn_ml: draws
            .iter()
            .filter(|draw| draw.0 == row.id)
            .map(|draw| draw.1)
            .sum(),
        id: row.id,
        product: (row.product_id, product),
        lot: (row.lot_id, number),
        unit: row.unit_id,
        name: row.name,
        punctured_on: row.punctured_on,
        last_day: row.last_day,
        volume_ml: row.volume_ml,
        opened_by: row.opened_by,
        opened_at: row.opened_at,
        discarded: row.discarded_at.to_jiff().zip(row.discard_reason),
    };
    Ok(rows.into_iter().map(vial).collect())
}

/// Notes what a mix drew from a vial.
pub(crate) async fn draw(
    writing: &mut Writing<'_>,
    vial: Uuid,
    mix: Uuid,
    volume_ml: Decimal,
) -> Result<(), StoreError> {
    diesel::insert_into(vial_draws::table)
        .values((
            vial_draws::facility_id.eq(writing.facility.id),
            vial_draws::id.eq(writing.new_id()),
            vial_draws::vial_id.eq(vial),
            vial_draws::mix_id.eq(mix),
            vial_draws::volume_ml.eq(volume_ml),
            vial_draws::actor.eq(writing.actor.to_string()),
            vial_draws::at.eq(writing.at.to_diesel()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}

/// Lists vials in the order they were punctured; only those not discarded if told so.
///
/// # Errors
/// [`StoreError`].
pub async fn list_vials(
    reading: &mut Reading,
    open: bool,
    after: After,
) -> Result<Page<Vial>, StoreError> {
    let asked = Asked::After(after.start(), after.fetch(), open);
    let items = of(reading.connection(), asked).await?;
    Ok(Page::of(items, after, |vial| vial.id))
}
