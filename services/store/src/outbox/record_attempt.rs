//! What came of sending a message.

use super::Message;
use super::messages::Row;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::webhook_messages;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::SignedDuration;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::{DeliveryState, wait_after};
use serde::Serialize;
use uuid::Uuid;

/// Puts on record what came of an attempt. One that failed is made again later, with longer and
/// longer waits, until the message is given up.
#[derive(Clone, Debug)]
pub struct RecordAttempt {
    /// The message.
    pub id: Uuid,
    /// The version that was sent.
    pub version: i32,
    /// Whether the receiver took it.
    pub taken: bool,
    /// The status, or what kept it from being sent: at most 200 characters, nothing of what the
    /// receiver wrote.
    pub answer: String,
}

/// Why an attempt is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordAttemptRefusal {
    /// Another process was faster.
    #[error("the message changed since it was read")]
    Stale,
}

#[derive(Serialize)]
struct Data<'a> {
    answer: &'a str,
    attempt: i32,
    state: DeliveryState,
}

impl Operation for RecordAttempt {
    // Sending is the same right, whether a person or the service begins it.
    type Permission = act::ResendMessage;
    type Outcome = Message;
    type Refusal = RecordAttemptRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Message, Refused<RecordAttemptRefusal>> {
        let found = webhook_messages::table
            .find(self.id)
            .filter(webhook_messages::version.eq(self.version))
            .filter(webhook_messages::state.eq(DeliveryState::Waiting.as_str()));
        let attempts: Option<i32> = found
            .select(webhook_messages::attempts)
            .first(writing.connection)
            .await
            .optional()?;
        let attempts = attempts.ok_or(Refused::Because(RecordAttemptRefusal::Stale))?;
        let attempt = attempts + 1;
        let wait = wait_after(u16::try_from(attempt).unwrap_or(u16::MAX)).filter(|_| !self.taken);
        let next_at = wait.and_then(|wait| {
            let wait = SignedDuration::try_from(wait).ok()?;
            writing.at.checked_add(wait).ok()
        });
        let state = match (self.taken, next_at) {
            (true, _) => DeliveryState::Delivered,
            (false, Some(_)) => DeliveryState::Waiting,
            (false, None) => DeliveryState::Dead,
        };
        let row: Row = diesel::update(webhook_messages::table.find(self.id))
            .set((
                webhook_messages::state.eq(state.as_str()),
                webhook_messages::attempts.eq(attempt),
                webhook_messages::next_at.eq(next_at.map(ToDiesel::to_diesel)),
                webhook_messages::last_answer.eq(&self.answer),
                webhook_messages::last_at.eq(writing.at.to_diesel()),
                webhook_messages::version.eq(self.version + 1),
            ))
            .returning(Row::as_select())
            .get_result(writing.connection)
            .await?;
        let data = Data {
            answer: &self.answer,
            attempt,
            state,
        };
        let subject = Subject::new("webhook_message", self.id);
        writing.append("record_attempt", subject, &data)?;
        Ok(row.try_into()?)
    }
}
