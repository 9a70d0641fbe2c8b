//! Changing a person's roles, or ending the account.

use super::people::{Person, PersonRow};
use crate::database::violates;
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{people, sessions};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Role, act};
use serde::Serialize;
use uuid::Uuid;

/// Gives a person other roles or another end; every open session ends, so that it takes effect.
#[derive(Clone, Debug)]
pub struct ChangePerson {
    /// The person.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// What the person is here for; at least one.
    pub roles: Vec<Role>,
    /// When the account ends.
    pub ends_at: Option<Timestamp>,
}

/// Why a person is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangePersonRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
    /// The record changed since it was read.
    #[error("the person changed since it was read")]
    Stale,
    /// An inspector's account needs an end.
    #[error("an inspector's account needs ends_at")]
    InspectorNeedsEnd,
}

#[derive(Serialize)]
struct Data {
    new: State,
    old: State,
}

#[derive(Serialize)]
struct State {
    #[serde(skip_serializing_if = "Option::is_none")]
    ends_at: Option<String>,
    roles: Vec<Role>,
}

impl Operation for ChangePerson {
    type Permission = act::ChangePerson;
    type Outcome = Person;
    type Refusal = ChangePersonRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Person, Refused<ChangePersonRefusal>> {
        let row: PersonRow = people::table
            .find(self.id)
            .select(PersonRow::as_select())
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(ChangePersonRefusal::NoSuchPerson))?;
        let old = Person::try_from(row)?;
        if old.version != self.version {
            return Err(Refused::Because(ChangePersonRefusal::Stale));
        }
        let roles: Vec<&str> = self.roles.iter().map(|role| role.as_str()).collect();
        let row: PersonRow = diesel::update(people::table.find(self.id))
            .set((
                people::roles.eq(roles),
                people::ends_at.eq(self.ends_at.map(ToDiesel::to_diesel)),
                people::version.eq(old.version + 1),
            ))
            .returning(PersonRow::as_returning())
            .get_result(writing.connection)
            .await
            .map_err(|error| match violates(&error, "people_inspector_ends") {
                true => Refused::Because(ChangePersonRefusal::InspectorNeedsEnd),
                false => error.into(),
            })?;
        diesel::update(sessions::table)
            .filter(sessions::person_id.eq(self.id))
            .filter(sessions::revoked_at.is_null())
            .set(sessions::revoked_at.eq(writing.at.to_diesel()))
            .execute(writing.connection)
            .await?;
        let data = Data {
            new: State {
                ends_at: self.ends_at.map(instant_text),
                roles: self.roles.clone(),
            },
            old: State {
                ends_at: old.ends_at.map(instant_text),
                roles: old.roles,
            },
        };
        writing.append("change_person", Subject::new("person", self.id), &data)?;
        Ok(row.try_into()?)
    }
}
