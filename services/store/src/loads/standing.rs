//! Holding a load and lifting that again.

use crate::database::StoreError;
use crate::recorder::Writing;
use crate::schema::loads;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use uuid::Uuid;

/// Holds loads; one that is held already keeps its first reason.
pub(super) async fn hold(
    writing: &mut Writing<'_>,
    ids: &[Uuid],
    reason: &str,
) -> Result<(), StoreError> {
    diesel::update(loads::table)
        .filter(loads::id.eq_any(ids))
        .filter(loads::held_at.is_null())
        .set((
            loads::held_at.eq(writing.at.to_diesel()),
            loads::held_reason.eq(reason),
            loads::version.eq(loads::version + 1),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}

/// Counts a change of a load that leaves its hold and release as they are.
pub(super) async fn count(writing: &mut Writing<'_>, id: Uuid) -> Result<(), StoreError> {
    diesel::update(loads::table.find(id))
        .set(loads::version.eq(loads::version + 1))
        .execute(writing.connection)
        .await?;
    Ok(())
}
