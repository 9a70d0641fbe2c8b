//! Ending a webhook.

use super::Webhook;
use super::add_webhook::Row;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{webhook_messages, webhooks};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::DeliveryState;
use serde::Serialize;
use uuid::Uuid;

/// Ends a webhook: it is told of nothing any more, and what still waits for it is given up.
#[derive(Clone, Debug)]
pub struct EndWebhook {
    /// The webhook.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

/// Why a webhook is not ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EndWebhookRefusal {
    /// There is no such webhook.
    #[error("there is no such webhook")]
    NoSuchWebhook,
    /// It changed since the caller read it.
    #[error("the webhook changed since it was read")]
    Stale,
    /// It ended already.
    #[error("the webhook ended already")]
    EndedAlready,
}

#[derive(Serialize)]
struct Data {
    given_up: usize,
}

impl Operation for EndWebhook {
    type Permission = act::EndWebhook;
    type Outcome = Webhook;
    type Refusal = EndWebhookRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Webhook, Refused<EndWebhookRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let row: Option<Row> = webhooks::table
            .find(self.id)
            .select(Row::as_select())
            .first(writing.connection)
            .await
            .optional()?;
        let Some(row) = row else {
            return refuse(EndWebhookRefusal::NoSuchWebhook);
        };
        let old = Webhook::try_from(row)?;
        if old.ended.is_some() {
            return refuse(EndWebhookRefusal::EndedAlready);
        }
        if old.version != self.version {
            return refuse(EndWebhookRefusal::Stale);
        }
        let row: Row = diesel::update(webhooks::table.find(self.id))
            .set((
                webhooks::ended_by.eq(writing.actor.to_string()),
                webhooks::ended_at.eq(writing.at.to_diesel()),
                webhooks::version.eq(self.version + 1),
            ))
            .returning(Row::as_select())
            .get_result(writing.connection)
            .await?;
        let waiting = webhook_messages::table
            .filter(webhook_messages::webhook_id.eq(self.id))
            .filter(webhook_messages::state.eq(DeliveryState::Waiting.as_str()));
        let given_up = diesel::update(waiting)
            .set((
                webhook_messages::state.eq(DeliveryState::Dead.as_str()),
                webhook_messages::next_at.eq(None::<jiff_diesel::Timestamp>),
                webhook_messages::version.eq(webhook_messages::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("webhook", self.id);
        writing.append("end_webhook", subject, &Data { given_up })?;
        Ok(row.try_into()?)
    }
}
