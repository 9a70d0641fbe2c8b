//! Reading cylinders.

use super::{Asked, Cylinder, of};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::product_identifiers;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use uuid::Uuid;

/// Lists cylinders in the order their fills were put on record.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<Cylinder>, StoreError> {
    let asked = Asked::After(after.start(), after.fetch());
    let items = of(reading.connection(), asked).await?;
    Ok(Page::of(items, after, |cylinder| cylinder.id))
}

/// Shows one; none when there is no such cylinder.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Cylinder>, StoreError> {
    Ok(of(reading.connection(), Asked::One(id)).await?.pop())
}

/// The GTIN of one piece of a product, in 14 digits; none when the catalogue has none.
///
/// # Errors
/// [`StoreError`].
pub async fn gtin(reading: &mut Reading, product: Uuid) -> Result<Option<String>, StoreError> {
    let gtin = product_identifiers::table
        .filter(product_identifiers::product_id.eq(product))
        .filter(product_identifiers::agency.eq("gs1"))
        .filter(product_identifiers::level.eq("unit"))
        .order(product_identifiers::code)
        .select(product_identifiers::code)
        .first(reading.connection())
        .await
        .optional()?;
    Ok(gtin)
}
