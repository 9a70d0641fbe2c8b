//! Signing in by badge and PIN at a paired station; the hand-over from one person to another.

use super::pairing::end_session_at;
use super::people::{Person, PersonRow};
use super::sign_in::{LASTS, Session, SignInFailure, add_token};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{badges, people, sessions};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::SignedDuration;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use std::convert::Infallible;
use uuid::Uuid;

/// Starts a session at a station for a person whose badge and PIN were verified; the session that
/// was open there ends in the same commit.
#[derive(Clone, Debug)]
pub struct BadgeIn {
    /// The badge.
    pub badge: Uuid,
    /// The person.
    pub person: Uuid,
    /// The station.
    pub station: Uuid,
    /// The hash of the first refresh token.
    pub refresh_hash: [u8; 32],
}

/// Why nobody is signed in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadgeInRefusal {
    /// The badge ended meanwhile.
    #[error("the badge ended")]
    BadgeEnded,
}

#[derive(Serialize)]
struct Data {
    badge: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_session: Option<Uuid>,
    session: Uuid,
}

impl Operation for BadgeIn {
    type Permission = act::BadgeIn;
    type Outcome = (Session, Person);
    type Refusal = BadgeInRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(Session, Person), Refused<BadgeInRefusal>> {
        if !badge_is_open(writing, self.badge, self.person).await? {
            return Err(Refused::Because(BadgeInRefusal::BadgeEnded));
        }
        let place = (self.person, self.station);
        let (session, ended_session) = open_at(writing, place, self.refresh_hash, LASTS).await?;
        let row: PersonRow = diesel::update(people::table.find(self.person))
            .set(people::pin_failures.eq(0))
            .returning(PersonRow::as_returning())
            .get_result(writing.connection)
            .await?;
        let data = Data {
            badge: self.badge,
            ended_session,
            session: session.id,
        };
        writing.append("badge_in", Subject::new("person", self.person), &data)?;
        Ok((session, row.try_into()?))
    }
}

/// Whether a badge is in force and the person's.
pub(super) async fn badge_is_open(
    writing: &mut Writing<'_>,
    badge: Uuid,
    person: Uuid,
) -> Result<bool, StoreError> {
    let open: i64 = badges::table
        .find(badge)
        .filter(badges::person_id.eq(person))
        .filter(badges::ended_at.is_null())
        .count()
        .get_result(writing.connection)
        .await?;
    Ok(open > 0)
}

/// Opens a person's session at a station; gives the one that was open there and ends with it.
pub(super) async fn open_at(
    writing: &mut Writing<'_>,
    (person, station): (Uuid, Uuid),
    refresh_hash: [u8; 32],
    lasts: SignedDuration,
) -> Result<(Session, Option<Uuid>), StoreError> {
    let ended = end_session_at(writing, station).await?;
    let id = writing.new_id();
    let expires_at = writing.at + lasts;
    diesel::insert_into(sessions::table)
        .values((
            sessions::facility_id.eq(writing.facility.id),
            sessions::id.eq(id),
            sessions::person_id.eq(person),
            sessions::created_at.eq(writing.at.to_diesel()),
            sessions::expires_at.eq(expires_at.to_diesel()),
            sessions::station_id.eq(station),
        ))
        .execute(writing.connection)
        .await?;
    let (facility, at) = (writing.facility.id, writing.at);
    add_token(writing.connection, facility, id, refresh_hash, at).await?;
    let session = Session {
        id,
        person,
        expires_at,
    };
    Ok((session, ended))
}

/// Puts a failed sign-in by badge on record, and counts it where the PIN was wrong.
#[derive(Clone, Copy, Debug)]
pub struct RefuseBadgeIn {
    /// Whose badge it was.
    pub person: Uuid,
    /// Why.
    pub reason: SignInFailure,
}

#[derive(Serialize)]
struct RefusalData {
    reason: SignInFailure,
}

impl Operation for RefuseBadgeIn {
    type Permission = act::BadgeIn;
    type Outcome = ();
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<Infallible>> {
        if self.reason == SignInFailure::WrongPin {
            diesel::update(people::table.find(self.person))
                .set(people::pin_failures.eq(people::pin_failures + 1))
                .execute(writing.connection)
                .await?;
        }
        let data = RefusalData {
            reason: self.reason,
        };
        writing.append(
            "refuse_badge_in",
            Subject::new("person", self.person),
            &data,
        )?;
        Ok(())
    }
}
