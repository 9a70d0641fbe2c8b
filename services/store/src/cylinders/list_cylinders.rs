//! Reading cylinders.

use super::{Asked, Cylinder, of};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
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
