//! Reading messages to webhooks.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{webhook_messages, webhooks};
use crate::sealing::{Key, WEBHOOK_SECRET};
use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{BigInt, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::outbox::{DeliveryState, OutboxEvent};
use uuid::Uuid;
use zeroize::Zeroizing;

/// A message to a webhook.
#[derive(Clone, Debug)]
pub struct Message {
    /// The message; its `webhook-id`.
    pub id: Uuid,
    /// The webhook.
    pub webhook: Uuid,
    /// What it tells.
    pub event: OutboxEvent,
    /// Its body.
    pub body: String,
    /// When it was written.
    pub created_at: Timestamp,
    /// How far it is.
    pub state: DeliveryState,
    /// Attempts so far.
    pub attempts: i32,
    /// When the next attempt is made.
    pub next_at: Option<Timestamp>,
    /// What came of the last attempt, and when.
    pub last: Option<(String, Timestamp)>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = webhook_messages)]
pub(super) struct Row {
    id: Uuid,
    webhook_id: Uuid,
    event: String,
    body: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    created_at: Timestamp,
    state: String,
    attempts: i32,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    next_at: jiff_diesel::NullableTimestamp,
    last_answer: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    last_at: jiff_diesel::NullableTimestamp,
    version: i32,
}

impl TryFrom<Row> for Message {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            webhook: row.webhook_id,
            event: row.event.parse().map_err(|_| StoreError::Unfit)?,
            body: row.body,
            created_at: row.created_at,
            state: row.state.parse().map_err(|_| StoreError::Unfit)?,
            attempts: row.attempts,
            next_at: row.next_at.to_jiff(),
            last: row.last_answer.zip(row.last_at.to_jiff()),
            version: row.version,
        })
    }
}

/// Lists messages in the order they were written.
///
/// # Errors
/// [`StoreError`].
pub async fn list_messages(
    reading: &mut Reading,
    state: Option<DeliveryState>,
    after: After,
) -> Result<Page<Message>, StoreError> {
    let mut query = webhook_messages::table
        .filter(webhook_messages::id.gt(after.start()))
        .order(webhook_messages::id)
        .limit(after.fetch())
        .select(Row::as_select())
        .into_boxed();
    if let Some(state) = state {
        query = query.filter(webhook_messages::state.eq(state.as_str()));
    }
    let rows: Vec<Row> = query.load(reading.connection()).await?;
    let items = rows.into_iter().map(Message::try_from);
    let items = items.collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |message: &Message| message.id))
}

/// A message that is to be sent now. `Debug` leaves the secret out.
pub struct Due {
    /// The message.
    pub message: Message,
    /// Where to.
    pub address: String,
    /// The key of its signature.
    pub secret: Zeroizing<Vec<u8>>,
}

impl std::fmt::Debug for Due {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Due")
            .field("message", &self.message)
            .finish_non_exhaustive()
    }
}

#[derive(QueryableByName)]
struct Id {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
}

/// The messages whose time has come, webhook by webhook and there the longest waiting first; of
/// each webhook at most so many, so that one with a long queue keeps no other one waiting.
///
/// # Errors
/// [`StoreError`].
pub async fn due(
    reading: &mut Reading,
    facility_key: &Key,
    now: Timestamp,
    most: i64,
) -> Result<Vec<Due>, StoreError> {
    let ids: Vec<Id> = sql_query(
        "SELECT m.id FROM webhooks w, LATERAL (
            SELECT id FROM webhook_messages
            WHERE webhook_id = w.id AND state = 'waiting' AND next_at <= $1
            ORDER BY next_at, id LIMIT $2) m
         WHERE w.ended_at IS NULL",
    )
    .bind::<Timestamptz, _>(now.to_diesel())
    .bind::<BigInt, _>(most)
    .load(reading.connection())
    .await?;
    let ids: Vec<Uuid> = ids.iter().map(|row| row.id).collect();
    let rows: Vec<(Row, String, Vec<u8>)> = webhook_messages::table
        .inner_join(webhooks::table.on(webhooks::id.eq(webhook_messages::webhook_id)))
        .filter(webhook_messages::id.eq_any(ids))
        .order((
            webhook_messages::webhook_id,
            webhook_messages::next_at,
            webhook_messages::id,
        ))
        .select((Row::as_select(), webhooks::address, webhooks::sealed_secret))
        .load(reading.connection())
        .await?;
    let due = rows.into_iter().map(|(row, address, sealed)| {
        Ok(Due {
            message: row.try_into()?,
            address,
            secret: facility_key.open(WEBHOOK_SECRET, &sealed)?,
        })
    });
    due.collect()
}
