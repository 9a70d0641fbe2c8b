//! Another password, chosen by its owner or given by an administrator.

use super::revoke_sessions::{Which, revoke};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::people;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::Serialize;
use std::convert::Infallible;
use uuid::Uuid;

/// Sets a person's own new password; every other session of the person ends (ASVS 7.4.3).
#[derive(Clone)]
pub struct ChangePassword {
    /// The person.
    pub person: Uuid,
    /// The session the change was asked for in; it goes on.
    pub session: Uuid,
    /// argon2id in PHC form.
    pub password_hash: String,
}

/// Sets a person's password for them; every session of the person ends.
#[derive(Clone)]
pub struct ResetPassword {
    /// The person.
    pub person: Uuid,
    /// argon2id in PHC form.
    pub password_hash: String,
}

impl std::fmt::Debug for ChangePassword {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ChangePassword").finish_non_exhaustive()
    }
}

impl std::fmt::Debug for ResetPassword {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("ResetPassword").finish_non_exhaustive()
    }
}

/// Why a password is not set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ResetPasswordRefusal {
    /// There is no such person.
    #[error("there is no such person")]
    NoSuchPerson,
}

#[derive(Serialize)]
struct Data {
    ended_sessions: Vec<Uuid>,
}

impl Operation for ChangePassword {
    type Permission = act::ChangePassword;
    type Outcome = ();
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<Infallible>> {
        set(writing, self.person, &self.password_hash).await?;
        let ended_sessions = revoke(writing, self.person, Which::AllBut(self.session)).await?;
        let subject = Subject::new("person", self.person);
        writing.append("change_password", subject, &Data { ended_sessions })?;
        Ok(())
    }
}

impl Operation for ResetPassword {
    type Permission = act::ResetPassword;
    type Outcome = ();
    type Refusal = ResetPasswordRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<ResetPasswordRefusal>> {
        if set(writing, self.person, &self.password_hash).await? == 0 {
            return Err(Refused::Because(ResetPasswordRefusal::NoSuchPerson));
        }
        let ended_sessions = revoke(writing, self.person, Which::All).await?;
        let subject = Subject::new("person", self.person);
        writing.append("reset_password", subject, &Data { ended_sessions })?;
        Ok(())
    }
}

async fn set(writing: &mut Writing<'_>, person: Uuid, hash: &str) -> QueryResult<usize> {
    diesel::update(people::table.find(person))
        .set(people::password_hash.eq(hash))
        .execute(writing.connection)
        .await
}
