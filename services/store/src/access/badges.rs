//! Badges and PINs.

use crate::database::{Reading, StoreError};
use crate::facilities::Facility;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{badges, people};
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{BadgeText, act};
use serde::Serialize;
use std::convert::Infallible;
use uuid::Uuid;

/// Wrong PINs in a row after which a PIN is over, until its owner chooses another with the
/// password. The password still signs in, so nobody is locked out of the room.
pub const PIN_FAILURES: i32 = 10;

/// What a badge is found by: HMAC-SHA-256 under the facility key.
///
/// # Errors
/// [`StoreError::Sealed`] with another installation's master key.
pub fn badge_lookup(
    facility: &Facility,
    master: &Key,
    badge: &BadgeText,
) -> Result<[u8; 32], StoreError> {
    let text = format!("badge\0{}", badge.as_str());
    Ok(facility.key(master)?.lookup(text.as_bytes())?)
}

/// Gives a person a badge; the former one ends.
#[derive(Clone, Debug)]
pub struct GiveBadge {
    /// The person.
    pub person: Uuid,
    /// [`badge_lookup`] of its text.
    pub lookup: [u8; 32],
}

/// A badge that was just given.
#[derive(Clone, Debug)]
pub struct GivenBadge {
    /// The badge.
    pub id: Uuid,
    /// Whose it is.
    pub person: Uuid,
    /// The person's name.
    pub name: String,
}

/// Why no badge is given or ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum BadgeRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
    /// The person has no badge.
    #[error("the person has no badge")]
    NoBadge,
}

#[derive(Serialize)]
struct GivenData {
    badge: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended: Option<Uuid>,
}

impl Operation for GiveBadge {
    type Permission = act::GiveBadge;
    type Outcome = GivenBadge;
    type Refusal = BadgeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<GivenBadge, Refused<BadgeRefusal>> {
        let name = name_of(writing, self.person).await?;
        let ended = end(writing, self.person).await?;
        let id = writing.new_id();
        diesel::insert_into(badges::table)
            .values((
                badges::facility_id.eq(writing.facility.id),
                badges::id.eq(id),
                badges::person_id.eq(self.person),
                badges::lookup.eq(self.lookup.as_slice()),
                badges::given_by.eq(writing.actor.to_string()),
                badges::given_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("person", self.person);
        writing.append("give_badge", subject, &GivenData { badge: id, ended })?;
        Ok(GivenBadge {
            id,
            person: self.person,
            name,
        })
    }
}

/// Ends a person's badge: lost, or handed in.
#[derive(Clone, Copy, Debug)]
pub struct EndBadge {
    /// The person.
    pub person: Uuid,
}

#[derive(Serialize)]
struct EndedData {
    badge: Uuid,
}

impl Operation for EndBadge {
    type Permission = act::EndBadge;
    type Outcome = ();
    type Refusal = BadgeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<BadgeRefusal>> {
        name_of(writing, self.person).await?;
        let badge = end(writing, self.person)
            .await?
            .ok_or(Refused::Because(BadgeRefusal::NoBadge))?;
        let subject = Subject::new("person", self.person);
        writing.append("end_badge", subject, &EndedData { badge })?;
        Ok(())
    }
}

async fn name_of(writing: &mut Writing<'_>, person: Uuid) -> Result<String, Refused<BadgeRefusal>> {
    people::table
        .find(person)
        .select(people::name)
        .first(writing.connection)
        .await
        .optional()?
        .ok_or(Refused::Because(BadgeRefusal::NoSuchPerson))
}

async fn end(writing: &mut Writing<'_>, person: Uuid) -> QueryResult<Option<Uuid>> {
    diesel::update(badges::table)
        .filter(badges::person_id.eq(person))
        .filter(badges::ended_at.is_null())
        .set(badges::ended_at.eq(writing.at.to_diesel()))
        .returning(badges::id)
        .get_result(writing.connection)
        .await
        .optional()
}

/// Sets a person's own PIN, and counts its failures from none.
#[derive(Clone)]
pub struct SetPin {
    /// The person.
    pub person: Uuid,
    /// argon2id in PHC form.
    pub pin_hash: String,
}

impl std::fmt::Debug for SetPin {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("SetPin").finish_non_exhaustive()
    }
}

#[derive(Serialize)]
struct Nothing {}

impl Operation for SetPin {
    type Permission = act::SetPin;
    type Outcome = ();
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<Infallible>> {
        diesel::update(people::table.find(self.person))
            .set((
                people::pin_hash.eq(&self.pin_hash),
                people::pin_failures.eq(0),
            ))
            .execute(writing.connection)
            .await?;
        writing.append("set_pin", Subject::new("person", self.person), &Nothing {})?;
        Ok(())
    }
}

/// What a sign-in by badge is checked against.
#[derive(Clone)]
pub struct BadgeHolder {
    /// The badge.
    pub badge: Uuid,
    /// Whose it is.
    pub person: Uuid,
    /// When the account ends.
    pub ends_at: Option<Timestamp>,
    /// argon2id in PHC form; none until the person chose a PIN.
    pub pin_hash: Option<String>,
    /// Wrong PINs since the last right one.
    pub pin_failures: i32,
}

impl std::fmt::Debug for BadgeHolder {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("BadgeHolder").finish_non_exhaustive()
    }
}

/// Finds who has a badge; none when nobody does.
///
/// # Errors
/// [`StoreError`].
pub async fn badge_holder(
    reading: &mut Reading,
    lookup: [u8; 32],
) -> Result<Option<BadgeHolder>, StoreError> {
    type Row = (
        Uuid,
        Uuid,
        jiff_diesel::NullableTimestamp,
        Option<String>,
        i32,
    );
    let found: Option<Row> = badges::table
        .inner_join(people::table.on(people::id.eq(badges::person_id)))
        .filter(badges::lookup.eq(lookup.to_vec()))
        .filter(badges::ended_at.is_null())
        .select((
            badges::id,
            people::id,
            people::ends_at,
            people::pin_hash,
            people::pin_failures,
        ))
        .first(reading.connection())
        .await
        .optional()?;
    Ok(found.map(
        |(badge, person, ends_at, pin_hash, pin_failures)| BadgeHolder {
            badge,
            person,
            ends_at: ends_at.to_jiff(),
            pin_hash,
            pin_failures,
        },
    ))
}
