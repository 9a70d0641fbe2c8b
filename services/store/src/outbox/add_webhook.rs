//! Adding a webhook.

use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::webhooks;
use crate::sealing::{Key, WEBHOOK_SECRET};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::{OutboxEvent, WebhookAddress};
use serde::Serialize;
use uuid::Uuid;
use zeroize::Zeroizing;

/// Webhooks of a facility at most: each event is written once for each of them.
pub const MOST_WEBHOOKS: i64 = 20;

/// Adds an address that is told of events from now on.
#[derive(Clone)]
pub struct AddWebhook {
    /// The facility's key, to seal the secret.
    pub facility_key: Key,
    /// The address.
    pub address: WebhookAddress,
    /// The events; at least one.
    pub events: Vec<OutboxEvent>,
    /// The key of the signatures: 24 to 64 bytes.
    pub secret: Zeroizing<Vec<u8>>,
}

/// An address that is told of events.
#[derive(Clone, Debug)]
pub struct Webhook {
    /// The webhook.
    pub id: Uuid,
    /// Its address.
    pub address: String,
    /// The events it is told of.
    pub events: Vec<OutboxEvent>,
    /// Who added it, as the ledger writes it, and when.
    pub added: (String, Timestamp),
    /// Who ended it, and when.
    pub ended: Option<(String, Timestamp)>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// Why a webhook is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddWebhookRefusal {
    /// There are as many as there may be.
    #[error("{MOST_WEBHOOKS} webhooks are told of events already; end one of them first")]
    TooMany,
}

#[derive(Serialize)]
struct Data<'a> {
    address: &'a str,
    events: &'a [OutboxEvent],
}

impl Operation for AddWebhook {
    type Permission = act::AddWebhook;
    type Outcome = Webhook;
    type Refusal = AddWebhookRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Webhook, Refused<AddWebhookRefusal>> {
        let standing: i64 = webhooks::table
            .filter(webhooks::facility_id.eq(writing.facility.id))
            .filter(webhooks::ended_at.is_null())
            .count()
            .get_result(writing.connection)
            .await?;
        if standing >= MOST_WEBHOOKS {
            return Err(Refused::Because(AddWebhookRefusal::TooMany));
        }
        let id = writing.new_id();
        let sealed = self.facility_key.seal(WEBHOOK_SECRET, &self.secret);
        let events: Vec<&str> = self.events.iter().map(|event| event.as_str()).collect();
        let row: Row = diesel::insert_into(webhooks::table)
            .values((
                webhooks::facility_id.eq(writing.facility.id),
                webhooks::id.eq(id),
                webhooks::address.eq(self.address.as_str()),
                webhooks::events.eq(events),
                webhooks::sealed_secret.eq(sealed.map_err(StoreError::from)?),
                webhooks::added_by.eq(writing.actor.to_string()),
                webhooks::added_at.eq(writing.at.to_diesel()),
            ))
            .returning(Row::as_select())
            .get_result(writing.connection)
            .await?;
        let data = Data {
            address: self.address.as_str(),
            events: &self.events,
        };
        writing.append("add_webhook", Subject::new("webhook", id), &data)?;
        Ok(row.try_into()?)
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = webhooks)]
pub(super) struct Row {
    id: Uuid,
    address: String,
    events: Vec<String>,
    added_by: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    added_at: Timestamp,
    ended_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    ended_at: jiff_diesel::NullableTimestamp,
    version: i32,
}

impl TryFrom<Row> for Webhook {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let events = row.events.iter().map(|event| event.parse());
        Ok(Self {
            id: row.id,
            address: row.address,
            events: events
                .collect::<Result<_, _>>()
                .map_err(|_| StoreError::Unfit)?,
            added: (row.added_by, row.added_at),
            ended: row.ended_by.zip(row.ended_at.to_jiff()),
            version: row.version,
        })
    }
}
