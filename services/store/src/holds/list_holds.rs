//! Reading holds.

use super::{Hold, HoldRow};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::holds;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use uuid::Uuid;

/// Which holds are asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct HoldFilter {
    /// Only those in force, or only those lifted.
    pub in_force: Option<bool>,
    /// Only those on a product, its lots and pieces.
    pub product: Option<Uuid>,
}

/// Lists holds in the order they were placed.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: HoldFilter,
    after: After,
) -> Result<Page<Hold>, StoreError> {
    let mut query = holds::table
        .filter(holds::id.gt(after.start()))
        .order(holds::id)
        .limit(after.fetch())
        .select(HoldRow::as_select())
        .into_boxed();
    if let Some(product) = filter.product {
        query = query.filter(holds::product_id.eq(product));
    }
    query = match filter.in_force {
        None => query,
        Some(true) => query.filter(holds::lifted_at.is_null()),
        Some(false) => query.filter(holds::lifted_at.is_not_null()),
    };
    let rows: Vec<HoldRow> = query.load(reading.connection()).await?;
    let items = rows
        .into_iter()
        .map(Hold::try_from)
        .collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |hold| hold.id))
}

/// Shows one hold; none when there is no such hold.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Hold>, StoreError> {
    let row: Option<HoldRow> = holds::table
        .find(id)
        .select(HoldRow::as_select())
        .first(reading.connection())
        .await
        .optional()?;
    row.map(Hold::try_from).transpose()
}
