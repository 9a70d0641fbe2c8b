//! Ending sessions before their time.

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{people, sessions};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Permission, act};
use serde::Serialize;
use uuid::Uuid;

/// Which of a person's sessions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Which {
    /// One.
    One(Uuid),
    /// Every one.
    All,
    /// Every one but this.
    AllBut(Uuid),
}

/// Ends one of the caller's own sessions.
#[derive(Clone, Copy, Debug)]
pub struct RevokeSession {
    /// The caller.
    pub person: Uuid,
    /// The session.
    pub session: Uuid,
}

/// Ends the caller's own sessions but the one that asks.
#[derive(Clone, Copy, Debug)]
pub struct RevokeSessions {
    /// The caller.
    pub person: Uuid,
    /// The session that asks.
    pub session: Uuid,
}

/// Ends sessions of another person.
#[derive(Clone, Copy, Debug)]
pub struct RevokePersonSessions {
    /// The person.
    pub person: Uuid,
    /// Which.
    pub which: Which,
}

/// Why no session is ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RevokeRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
    /// There is no such session, or it ended before.
    #[error("there is no such open session")]
    NoSuchSession,
}

#[derive(Serialize)]
struct Data {
    sessions: Vec<Uuid>,
}

impl Operation for RevokeSession {
    type Permission = act::RevokeSession;
    type Outcome = ();
    type Refusal = RevokeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<RevokeRefusal>> {
        end::<act::RevokeSession>(writing, self.person, Which::One(self.session)).await
    }
}

impl Operation for RevokeSessions {
    type Permission = act::RevokeSessions;
    type Outcome = ();
    type Refusal = RevokeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<RevokeRefusal>> {
        end::<act::RevokeSessions>(writing, self.person, Which::AllBut(self.session)).await
    }
}

impl Operation for RevokePersonSessions {
    type Permission = act::RevokePersonSessions;
    type Outcome = ();
    type Refusal = RevokeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<RevokeRefusal>> {
        let known: i64 = people::table
            .find(self.person)
            .count()
            .get_result(writing.connection)
            .await?;
        if known == 0 {
            return Err(Refused::Because(RevokeRefusal::NoSuchPerson));
        }
        end::<act::RevokePersonSessions>(writing, self.person, self.which).await
    }
}

async fn end<P: Permission>(
    writing: &mut Writing<'_>,
    person: Uuid,
    which: Which,
) -> Result<(), Refused<RevokeRefusal>> {
    let sessions = revoke(writing, person, which).await?;
    if sessions.is_empty() && matches!(which, Which::One(_)) {
        return Err(Refused::Because(RevokeRefusal::NoSuchSession));
    }
    let subject = Subject::new("person", person);
    writing.append(P::ACTION.as_str(), subject, &Data { sessions })?;
    Ok(())
}

/// Ends a person's open sessions and says which they were, in the order they were started.
pub(super) async fn revoke(
    writing: &mut Writing<'_>,
    person: Uuid,
    which: Which,
) -> QueryResult<Vec<Uuid>> {
    let (only, but) = match which {
        Which::One(session) => (Some(session), None),
        Which::All => (None, None),
        Which::AllBut(session) => (None, Some(session)),
    };
    let mut open = sessions::table
        .filter(sessions::person_id.eq(person))
        .filter(sessions::revoked_at.is_null())
        .filter(sessions::expires_at.gt(writing.at.to_diesel()))
        .select(sessions::id)
        .order(sessions::id)
        .into_boxed();
    if let Some(session) = only {
        open = open.filter(sessions::id.eq(session));
    }
    if let Some(session) = but {
        open = open.filter(sessions::id.ne(session));
    }
    let ended: Vec<Uuid> = open.load(writing.connection).await?;
    diesel::update(sessions::table)
        .filter(sessions::id.eq_any(&ended))
        .set(sessions::revoked_at.eq(writing.at.to_diesel()))
        .execute(writing.connection)
        .await?;
    Ok(ended)
}
