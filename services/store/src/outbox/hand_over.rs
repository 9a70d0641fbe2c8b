//! Handing mail to a mail system.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::mails;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::OutboxEvent;
use serde::Serialize;
use uuid::Uuid;

/// A mail of the outbox.
#[derive(Clone, Debug)]
pub struct Mail {
    /// The mail.
    pub id: Uuid,
    /// What it tells.
    pub event: OutboxEvent,
    /// Header and text, as RFC 5322 has it.
    pub message: String,
    /// When it was written.
    pub created_at: Timestamp,
    /// When it was handed over.
    pub handed_at: Option<Timestamp>,
}

type Row = (
    Uuid,
    String,
    String,
    jiff_diesel::Timestamp,
    jiff_diesel::NullableTimestamp,
);

const COLUMNS: (
    mails::id,
    mails::event,
    mails::message,
    mails::created_at,
    mails::handed_at,
) = (
    mails::id,
    mails::event,
    mails::message,
    mails::created_at,
    mails::handed_at,
);

impl Mail {
    fn of((id, event, message, created_at, handed_at): Row) -> Result<Self, StoreError> {
        Ok(Self {
            id,
            event: event.parse().map_err(|_| StoreError::Unfit)?,
            message,
            created_at: created_at.to_jiff(),
            handed_at: handed_at.to_jiff(),
        })
    }
}

/// Lists the mails of the outbox in the order they were written.
///
/// # Errors
/// [`StoreError`].
pub async fn list_mails(reading: &mut Reading, after: After) -> Result<Page<Mail>, StoreError> {
    let rows: Vec<Row> = mails::table
        .filter(mails::id.gt(after.start()))
        .order(mails::id)
        .limit(after.fetch())
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(Mail::of).collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |mail: &Mail| mail.id))
}

/// The mails that nobody took yet, in the order they were written; at most so many.
///
/// # Errors
/// [`StoreError`].
pub async fn to_hand_over(reading: &mut Reading, most: i64) -> Result<Vec<Mail>, StoreError> {
    let rows: Vec<Row> = mails::table
        .filter(mails::handed_at.is_null())
        .order(mails::id)
        .limit(most)
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    rows.into_iter().map(Mail::of).collect()
}

/// Puts on record that a mail was handed to a mail system; once.
#[derive(Clone, Copy, Debug)]
pub struct HandOver {
    /// The mail.
    pub id: Uuid,
}

/// Why a mail is not handed over.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum HandOverRefusal {
    /// There is no such mail, or it was handed over.
    #[error("the mail was handed over already")]
    HandedAlready,
}

#[derive(Serialize)]
struct Data<'a> {
    event: &'a str,
}

impl Operation for HandOver {
    // Who reads the outbox is who takes from it.
    type Permission = act::ListMails;
    type Outcome = ();
    type Refusal = HandOverRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<HandOverRefusal>> {
        let waiting = mails::table
            .find(self.id)
            .filter(mails::handed_at.is_null());
        let event: Option<String> = diesel::update(waiting)
            .set(mails::handed_at.eq(writing.at.to_diesel()))
            .returning(mails::event)
            .get_result(writing.connection)
            .await
            .optional()?;
        let event = event.ok_or(Refused::Because(HandOverRefusal::HandedAlready))?;
        let subject = Subject::new("mail", self.id);
        writing.append("hand_over", subject, &Data { event: &event })?;
        Ok(())
    }
}
