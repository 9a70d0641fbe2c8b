//! Reading webhooks.

use super::Webhook;
use super::add_webhook::Row;
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::webhooks;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;

/// Lists webhooks in the order they were added, without their secrets.
///
/// # Errors
/// [`StoreError`].
pub async fn list_webhooks(
    reading: &mut Reading,
    after: After,
) -> Result<Page<Webhook>, StoreError> {
    let rows: Vec<Row> = webhooks::table
        .filter(webhooks::id.gt(after.start()))
        .order(webhooks::id)
        .limit(after.fetch())
        .select(Row::as_select())
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(Webhook::try_from);
    let items = items.collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |webhook: &Webhook| webhook.id))
}
