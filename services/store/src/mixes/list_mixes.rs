//! Reading mixes.

use super::Mix;
use super::rows::{Asked, of};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use uuid::Uuid;

/// Lists mixes in the order they were ordered, of one case if it is named.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    case: Option<Uuid>,
    after: After,
) -> Result<Page<Mix>, StoreError> {
    let asked = Asked::After(after.start(), after.fetch(), case);
    let items = of(reading.connection(), asked).await?;
    Ok(Page::of(items, after, |mix| mix.id))
}

/// Shows one; none when there is no such mix.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Mix>, StoreError> {
    Ok(of(reading.connection(), Asked::One(id)).await?.pop())
}
