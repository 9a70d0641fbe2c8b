//! The periodic review of who holds what.

use super::people::{Person, PersonRow};
use super::revoke_sessions::{Which, revoke};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{access_reviews, badges, people, sessions};
use diesel::dsl::max;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, Role, act};
use serde::Serialize;
use std::collections::HashMap;
use uuid::Uuid;

/// What one person holds, for a review.
#[derive(Clone, Debug)]
pub struct Access {
    /// The person.
    pub person: Person,
    /// When the account was made.
    pub added_at: Timestamp,
    /// The last sign-in, by password or badge.
    pub signed_in_at: Option<Timestamp>,
    /// When the badge in force was given.
    pub badge_given_at: Option<Timestamp>,
    /// The last review.
    pub reviewed_at: Option<Timestamp>,
}

type At = jiff_diesel::NullableTimestamp;

/// Lists what each person holds, in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list_access(reading: &mut Reading, after: After) -> Result<Page<Access>, StoreError> {
    let rows: Vec<(PersonRow, jiff_diesel::Timestamp)> = people::table
        .filter(people::id.gt(after.start()))
        .order(people::id)
        .limit(after.fetch())
        .select((PersonRow::as_select(), people::created_at))
        .load(reading.connection())
        .await?;
    let mut people = Vec::with_capacity(rows.len());
    for (row, added_at) in rows {
        people.push((Person::try_from(row)?, added_at.to_jiff()));
    }
    let ids: Vec<Uuid> = people.iter().map(|(person, _)| person.id).collect();
    let signed_in: Vec<(Uuid, At)> = sessions::table
        .filter(sessions::person_id.eq_any(&ids))
        .group_by(sessions::person_id)
        .select((sessions::person_id, max(sessions::created_at)))
        .load(reading.connection())
        .await?;
    let given: Vec<(Uuid, At)> = badges::table
        .filter(badges::person_id.eq_any(&ids))
        .filter(badges::ended_at.is_null())
        .select((badges::person_id, badges::given_at.nullable()))
        .load(reading.connection())
        .await?;
    let reviewed: Vec<(Uuid, At)> = access_reviews::table
        .filter(access_reviews::person_id.eq_any(&ids))
        .group_by(access_reviews::person_id)
        .select((access_reviews::person_id, max(access_reviews::reviewed_at)))
        .load(reading.connection())
        .await?;
    let (signed_in, given, reviewed) =
        (by_person(signed_in), by_person(given), by_person(reviewed));
    let access = people.into_iter().map(|(person, added_at)| Access {
        added_at,
        signed_in_at: signed_in.get(&person.id).copied(),
        badge_given_at: given.get(&person.id).copied(),
        reviewed_at: reviewed.get(&person.id).copied(),
        person,
    });
    Ok(Page::of(access.collect(), after, |access| access.person.id))
}

fn by_person(rows: Vec<(Uuid, At)>) -> HashMap<Uuid, Timestamp> {
    let known = rows.into_iter();
    known
        .filter_map(|(person, at)| Some((person, at.to_jiff()?)))
        .collect()
}

/// Puts the review of a person's access on record; it keeps roles or takes them away, at once.
#[derive(Clone, Debug)]
pub struct ReviewAccess {
    /// The person.
    pub person: Uuid,
    /// The version the reviewer saw.
    pub version: i32,
    /// The roles that stay; at least one.
    pub roles: Vec<Role>,
    /// What was found: 3 to 500 characters.
    pub note: String,
}

/// Why a review is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ReviewAccessRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
    /// The person changed since it was read.
    #[error("the person changed since it was read")]
    Stale,
    /// The reviewer is the person.
    #[error("nobody reviews the own access")]
    Own,
    /// A role is named that the person does not have.
    #[error("a review keeps roles or takes them away; it gives none")]
    GivesRole,
}

#[derive(Serialize)]
struct Data<'a> {
    new: State<'a>,
    note: &'a str,
    old: State<'a>,
}

#[derive(Serialize)]
struct State<'a> {
    roles: &'a [Role],
}

impl Operation for ReviewAccess {
    type Permission = act::ReviewAccess;
    type Outcome = Person;
    type Refusal = ReviewAccessRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Person, Refused<ReviewAccessRefusal>> {
        let row: PersonRow = people::table
            .find(self.person)
            .select(PersonRow::as_select())
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(ReviewAccessRefusal::NoSuchPerson))?;
        let old = Person::try_from(row)?;
        if *writing.actor == Actor::Person(self.person) {
            return Err(Refused::Because(ReviewAccessRefusal::Own));
        }
        if old.version != self.version {
            return Err(Refused::Because(ReviewAccessRefusal::Stale));
        }
        if !self.roles.iter().all(|role| old.roles.contains(role)) {
            return Err(Refused::Because(ReviewAccessRefusal::GivesRole));
        }
        let written =
            |roles: &[Role]| -> Vec<&str> { roles.iter().map(|role| role.as_str()).collect() };
        diesel::insert_into(access_reviews::table)
            .values((
                access_reviews::facility_id.eq(writing.facility.id),
                access_reviews::id.eq(writing.new_id()),
                access_reviews::person_id.eq(self.person),
                access_reviews::reviewed_by.eq(writing.actor.to_string()),
                access_reviews::reviewed_at.eq(writing.at.to_diesel()),
                access_reviews::old_roles.eq(written(&old.roles)),
                access_reviews::new_roles.eq(written(&self.roles)),
                access_reviews::note.eq(&self.note),
            ))
            .execute(writing.connection)
            .await?;
        let less = old.roles.iter().any(|role| !self.roles.contains(role));
        let row: PersonRow = diesel::update(people::table.find(self.person))
            .set((
                people::roles.eq(written(&self.roles)),
                people::version.eq(old.version + 1),
            ))
            .returning(PersonRow::as_returning())
            .get_result(writing.connection)
            .await?;
        if less {
            revoke(writing, self.person, Which::All).await?;
        }
        let data = Data {
            new: State { roles: &self.roles },
            note: &self.note,
            old: State { roles: &old.roles },
        };
        let subject = Subject::new("person", self.person);
        writing.append("review_access", subject, &data)?;
        Ok(row.try_into()?)
    }
}
