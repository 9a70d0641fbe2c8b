//! Sending a message again by hand.

use super::Message;
use super::messages::Row;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{webhook_messages, webhooks};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::DeliveryState;
use serde::Serialize;
use uuid::Uuid;

/// Sends a message again that was given up or delivered; its attempts count anew.
#[derive(Clone, Debug)]
pub struct ResendMessage {
    /// The message.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

/// Why a message is not sent again.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ResendMessageRefusal {
    /// There is no such message.
    #[error("there is no such message")]
    NoSuchMessage,
    /// It changed since the caller read it.
    #[error("the message changed since it was read")]
    Stale,
    /// It is waiting to be sent.
    #[error("the message is waiting to be sent")]
    Waiting,
    /// Its webhook ended.
    #[error("the webhook of this message ended")]
    WebhookEnded,
}

#[derive(Serialize)]
struct Data {
    attempts: i32,
    old: DeliveryState,
}

impl Operation for ResendMessage {
    type Permission = act::ResendMessage;
    type Outcome = Message;
    type Refusal = ResendMessageRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Message, Refused<ResendMessageRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let found: Option<(Row, jiff_diesel::NullableTimestamp)> = webhook_messages::table
            .inner_join(webhooks::table.on(webhooks::id.eq(webhook_messages::webhook_id)))
            .filter(webhook_messages::id.eq(self.id))
            .select((Row::as_select(), webhooks::ended_at))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((row, ended)) = found else {
            return refuse(ResendMessageRefusal::NoSuchMessage);
        };
        let old = Message::try_from(row)?;
        if old.state == DeliveryState::Waiting {
            return refuse(ResendMessageRefusal::Waiting);
        }
        if old.version != self.version {
            return refuse(ResendMessageRefusal::Stale);
        }
        if ended.to_jiff().is_some() {
            return refuse(ResendMessageRefusal::WebhookEnded);
        }
        let row: Row = diesel::update(webhook_messages::table.find(self.id))
            .set((
                webhook_messages::state.eq(DeliveryState::Waiting.as_str()),
                webhook_messages::attempts.eq(0),
                webhook_messages::next_at.eq(writing.at.to_diesel()),
                webhook_messages::version.eq(self.version + 1),
            ))
            .returning(Row::as_select())
            .get_result(writing.connection)
            .await?;
        let data = Data {
            attempts: old.attempts,
            old: old.state,
        };
        let subject = Subject::new("webhook_message", self.id);
        writing.append("resend_message", subject, &data)?;
        Ok(row.try_into()?)
    }
}
