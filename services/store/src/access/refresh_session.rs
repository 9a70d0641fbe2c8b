//! Renewing a session with a token that is good once.

use super::change_policy;
use super::people::{Person, PersonRow};
use super::sign_in::{Session, add_token};
use crate::database::{Database, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{people, refresh_tokens, sessions};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Exchanges a refresh token for the next one.
#[derive(Clone, Debug)]
pub struct RefreshSession {
    /// The hash of the token that came.
    pub hash: [u8; 32],
    /// The hash of the next one.
    pub next_hash: [u8; 32],
    /// How long the access token that came with the first is good; the idle time counts from then.
    pub access_lasts: SignedDuration,
}

/// A renewal, or the end of a session because its token came twice.
#[derive(Clone, Debug)]
pub enum Refreshed {
    /// The session goes on.
    Renewed(Session, Person),
    /// The token had been used before, so it was stolen or lost: the session is over.
    Reused,
}

/// Why a session is not renewed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RefreshRefusal {
    /// The token is none of ours, its session or account ended, or it was idle too long.
    #[error("the refresh token is not valid any more; sign in again")]
    NotValid,
}

#[derive(Serialize)]
struct Data {
    session: Uuid,
}

impl Operation for RefreshSession {
    type Permission = act::RefreshSession;
    type Outcome = Refreshed;
    type Refusal = RefreshRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Refreshed, Refused<RefreshRefusal>> {
        type Row = (
            Uuid,
            jiff_diesel::Timestamp,
            jiff_diesel::NullableTimestamp,
            Uuid,
            jiff_diesel::Timestamp,
            jiff_diesel::NullableTimestamp,
        );
        let found: Option<(Row, PersonRow)> = refresh_tokens::table
            .inner_join(sessions::table.on(sessions::id.eq(refresh_tokens::session_id)))
            .inner_join(people::table.on(people::id.eq(sessions::person_id)))
            .filter(refresh_tokens::hash.eq(self.hash.as_slice()))
            .select((
                (
                    sessions::id,
                    refresh_tokens::issued_at,
                    refresh_tokens::used_at,
                    sessions::person_id,
                    sessions::expires_at,
                    sessions::revoked_at,
                ),
                PersonRow::as_select(),
            ))
            .first(writing.connection)
            .await
            .optional()?;
        let Some(((id, issued_at, used_at, person, expires_at, revoked_at), row)) = found else {
            return Err(Refused::Because(RefreshRefusal::NotValid));
        };
        let account = Person::try_from(row)?;
        let over = |end: Option<Timestamp>| end.is_some_and(|end| end <= writing.at);
        if revoked_at.to_jiff().is_some()
            || over(Some(expires_at.to_jiff()))
            || over(account.ends_at)
        {
            return Err(Refused::Because(RefreshRefusal::NotValid));
        }
        let data = Data { session: id };
        if used_at.to_jiff().is_some() {
            diesel::update(sessions::table.find(id))
                .set(sessions::revoked_at.eq(writing.at.to_diesel()))
                .execute(writing.connection)
                .await?;
            writing.append("revoke_session", Subject::new("person", person), &data)?;
            return Ok(Refreshed::Reused);
        }
        let policy = change_policy::current(writing.connection).await?.settings;
        let idle = SignedDuration::from_mins(i64::from(policy.idle_lock_minutes));
        if issued_at.to_jiff() + self.access_lasts + idle < writing.at {
            return Err(Refused::Because(RefreshRefusal::NotValid));
        }
        diesel::update(refresh_tokens::table.find(self.hash.as_slice()))
            .set(refresh_tokens::used_at.eq(writing.at.to_diesel()))
            .execute(writing.connection)
            .await?;
        let (facility, at) = (writing.facility.id, writing.at);
        add_token(writing.connection, facility, id, self.next_hash, at).await?;
        writing.append("refresh_session", Subject::new("person", person), &data)?;
        let session = Session {
            id,
            person,
            expires_at: expires_at.to_jiff(),
        };
        Ok(Refreshed::Renewed(session, account))
    }
}

/// Finds the person a refresh token belongs to, so that the renewal can be attributed.
///
/// # Errors
/// [`StoreError`].
pub async fn session_of(
    database: &Database,
    facility: Uuid,
    hash: [u8; 32],
) -> Result<Option<Uuid>, StoreError> {
    let mut reading = database.reading(facility).await?;
    let person = refresh_tokens::table
        .inner_join(sessions::table.on(sessions::id.eq(refresh_tokens::session_id)))
        .filter(refresh_tokens::hash.eq(hash.as_slice()))
        .select(sessions::person_id)
        .first(reading.connection())
        .await
        .optional()?;
    Ok(person)
}
