//! Reading loads.

use super::Load;
use super::reached::{Reached, reached};
use super::rows::{Asked, find, of};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use uuid::Uuid;

/// Lists loads in the order they were put on record.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<Load>, StoreError> {
    let asked = Asked::After(after.start(), after.fetch());
    let items = of(reading.connection(), asked).await?;
    Ok(Page::of(items, after, |load| load.id))
}

/// Shows one with the cases it reached; none when there is no such load.
///
/// # Errors
/// [`StoreError`].
pub async fn show(
    reading: &mut Reading,
    id: Uuid,
) -> Result<Option<(Load, Vec<Reached>)>, StoreError> {
    let Some(load) = find(reading.connection(), id).await? else {
        return Ok(None);
    };
    let reached = reached(reading.connection(), &[id]).await?;
    Ok(Some((load, reached)))
}
