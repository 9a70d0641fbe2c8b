//! Adding a person.

use super::people::{Person, PersonRow};
use crate::database::violates;
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{logins, people};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Role, act};
use serde::Serialize;

/// Adds a named account.
#[derive(Clone)]
pub struct AddPerson {
    /// The name signed in with: lower-case letters, digits, `.`, `_` and `-`; never used twice.
    pub login: String,
    /// The printed name.
    pub name: String,
    /// What the person is here for; at least one.
    pub roles: Vec<Role>,
    /// argon2id in PHC form.
    pub password_hash: String,
    /// When the account ends; an inspector's has to.
    pub ends_at: Option<Timestamp>,
}

impl std::fmt::Debug for AddPerson {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("AddPerson")
            .field("login", &self.login)
            .finish_non_exhaustive()
    }
}

/// Why a person is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddPersonRefusal {
    /// The login is or was somebody's (21 CFR 11.100(a): never reassigned).
    #[error("this login is or was somebody's; logins are never given twice")]
    LoginTaken,
    /// An inspector's account needs an end.
    #[error("an inspector's account needs ends_at")]
    InspectorNeedsEnd,
}

#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    ends_at: Option<String>,
    login: &'a str,
    name: &'a str,
    roles: &'a [Role],
}

impl Operation for AddPerson {
    type Permission = act::AddPerson;
    type Outcome = Person;
    type Refusal = AddPersonRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Person, Refused<AddPersonRefusal>> {
        if self.roles.contains(&Role::Inspector) && self.ends_at.is_none() {
            return Err(Refused::Because(AddPersonRefusal::InspectorNeedsEnd));
        }
        let id = writing.new_id();
        let roles: Vec<&str> = self.roles.iter().map(|role| role.as_str()).collect();
        let row: PersonRow = diesel::insert_into(people::table)
            .values((
                people::facility_id.eq(writing.facility.id),
                people::id.eq(id),
                people::login.eq(&self.login),
                people::name.eq(&self.name),
                people::roles.eq(roles),
                people::password_hash.eq(&self.password_hash),
                people::ends_at.eq(self.ends_at.map(ToDiesel::to_diesel)),
                people::created_at.eq(writing.at.to_diesel()),
            ))
            .returning(PersonRow::as_returning())
            .get_result(writing.connection)
            .await?;
        diesel::insert_into(logins::table)
            .values((
                logins::login.eq(&self.login),
                logins::facility_id.eq(writing.facility.id),
                logins::person_id.eq(id),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "logins_pk") {
                true => Refused::Because(AddPersonRefusal::LoginTaken),
                false => error.into(),
            })?;
        let data = Data {
            ends_at: self.ends_at.map(instant_text),
            login: &self.login,
            name: &self.name,
            roles: &self.roles,
        };
        writing.append("add_person", Subject::new("person", id), &data)?;
        Ok(row.try_into()?)
    }
}
