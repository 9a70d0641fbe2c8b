//! Telling others of an event.

use crate::moment::instant_text;
use crate::notices::desk_policy;
use crate::recorder::{Failure, Writing};
use crate::schema::{mails, webhook_messages, webhooks};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::outbox::{DeliveryState, MailAddress, OutboxEvent, message};
use serde::Serialize;
use uuid::Uuid;

/// What others are told; never a patient's identity.
pub(crate) struct Said<'a, T: Serialize> {
    /// What happened.
    pub(crate) event: OutboxEvent,
    /// For programs.
    pub(crate) data: &'a T,
    /// For people: the subject and the text of a mail.
    pub(crate) mail: (String, String),
}

/// A message's body, in the members that Standard Webhooks recommends.
#[derive(Serialize)]
struct Payload<'a, T: Serialize> {
    r#type: &'static str,
    timestamp: String,
    data: &'a T,
}

/// Writes the messages to the webhooks that ask for the event, and the mail if the site has
/// addresses for it, in the commit of what they tell.
pub(crate) async fn announce<T: Serialize>(
    writing: &mut Writing<'_>,
    said: Said<'_, T>,
) -> Result<(), Failure> {
    let event = said.event.as_str();
    let asking: Vec<Uuid> = webhooks::table
        .filter(webhooks::facility_id.eq(writing.facility.id))
        .filter(webhooks::ended_at.is_null())
        .filter(webhooks::events.contains(vec![event]))
        .order(webhooks::id)
        .select(webhooks::id)
        .load(writing.connection)
        .await?;
    if !asking.is_empty() {
        let payload = Payload {
            r#type: event,
            timestamp: instant_text(writing.at),
            data: said.data,
        };
        let body = serde_json::to_string(&payload).map_err(|_| Failure::Unfit)?;
        let rows: Vec<_> = asking
            .into_iter()
            .map(|webhook| {
                (
                    webhook_messages::facility_id.eq(writing.facility.id),
                    webhook_messages::id.eq(writing.new_id()),
                    webhook_messages::webhook_id.eq(webhook),
                    webhook_messages::event.eq(event),
                    webhook_messages::body.eq(&body),
                    webhook_messages::created_at.eq(writing.at.to_diesel()),
                    webhook_messages::state.eq(DeliveryState::Waiting.as_str()),
                    webhook_messages::next_at.eq(writing.at.to_diesel()),
                )
            })
            .collect();
        diesel::insert_into(webhook_messages::table)
            .values(&rows)
            .execute(writing.connection)
            .await?;
    }
    mail(writing, event, &said.mail).await
}

async fn mail(
    writing: &mut Writing<'_>,
    event: &str,
    (subject, text): &(String, String),
) -> Result<(), Failure> {
    let policy = desk_policy(writing.connection).await?;
    let read = |text: &String| MailAddress::read(text).map_err(|_| Failure::Unfit);
    let to = policy
        .mail_to
        .iter()
        .map(read)
        .collect::<Result<Vec<_>, _>>()?;
    let Some(from) = policy.mail_from.as_ref().filter(|_| !to.is_empty()) else {
        return Ok(());
    };
    let from = read(from)?;
    let id = writing.new_id();
    let at = writing.at.to_zoned(writing.facility.zone.clone());
    let written = message(&id.to_string(), (&from, &to), (subject, text), &at);
    diesel::insert_into(mails::table)
        .values((
            mails::facility_id.eq(writing.facility.id),
            mails::id.eq(id),
            mails::event.eq(event),
            mails::message.eq(written),
            mails::created_at.eq(writing.at.to_diesel()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}
