//! Starting a session.

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{refresh_tokens, sessions};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::convert::Infallible;
use uuid::Uuid;

/// How long a session lasts in all (NIST SP 800-63B-4, 2.2.3 asks for 24 hours at most).
pub(super) const LASTS: SignedDuration = SignedDuration::from_hours(12);

/// A session that was just started or renewed.
#[derive(Clone, Copy, Debug)]
pub struct Session {
    /// The session.
    pub id: Uuid,
    /// Whose it is.
    pub person: Uuid,
    /// When it ends for good.
    pub expires_at: Timestamp,
}

/// Starts a session for a person whose credentials were verified.
#[derive(Clone, Debug)]
pub struct SignIn {
    /// The person.
    pub person: Uuid,
    /// The hash of the first refresh token.
    pub refresh_hash: [u8; 32],
}

#[derive(Serialize)]
struct Data {
    session: Uuid,
}

impl Operation for SignIn {
    type Permission = act::SignIn;
    type Outcome = Session;
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Session, Refused<Infallible>> {
        let id = writing.new_id();
        let expires_at = writing.at + LASTS;
        diesel::insert_into(sessions::table)
            .values((
                sessions::facility_id.eq(writing.facility.id),
                sessions::id.eq(id),
                sessions::person_id.eq(self.person),
                sessions::created_at.eq(writing.at.to_diesel()),
                sessions::expires_at.eq(expires_at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let (facility, at) = (writing.facility.id, writing.at);
        add_token(writing.connection, facility, id, self.refresh_hash, at).await?;
        let data = Data { session: id };
        writing.append("sign_in", Subject::new("person", self.person), &data)?;
        Ok(Session {
            id,
            person: self.person,
            expires_at,
        })
    }
}

/// Keeps the hash of a new refresh token.
pub(super) async fn add_token(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    session: Uuid,
    hash: [u8; 32],
    at: Timestamp,
) -> QueryResult<()> {
    diesel::insert_into(refresh_tokens::table)
        .values((
            refresh_tokens::facility_id.eq(facility),
            refresh_tokens::hash.eq(hash.as_slice()),
            refresh_tokens::session_id.eq(session),
            refresh_tokens::issued_at.eq(at.to_diesel()),
        ))
        .execute(connection)
        .await?;
    Ok(())
}

/// What the database keeps of a refresh token.
#[must_use]
pub fn token_hash(token: &str) -> [u8; 32] {
    Sha256::digest(token.as_bytes()).into()
}

/// Why a sign-in failed, as the ledger writes it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum SignInFailure {
    /// The password is wrong.
    WrongPassword,
    /// The account ended.
    AccountEnded,
    /// Too many attempts.
    Throttled,
    /// The PIN is wrong.
    WrongPin,
    /// The person has no PIN yet, or too many wrong ones ended it.
    NoPin,
}

/// Puts a failed sign-in to a known account on record (21 CFR 11.300(d)).
#[derive(Clone, Copy, Debug)]
pub struct RefuseSignIn {
    /// The account.
    pub person: Uuid,
    /// Why.
    pub reason: SignInFailure,
}

#[derive(Serialize)]
struct RefusalData {
    reason: SignInFailure,
}

impl Operation for RefuseSignIn {
    type Permission = act::SignIn;
    type Outcome = ();
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<Infallible>> {
        let data = RefusalData {
            reason: self.reason,
        };
        writing.append("refuse_sign_in", Subject::new("person", self.person), &data)?;
        Ok(())
    }
}
