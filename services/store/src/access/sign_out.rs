//! Ending a session.

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::sessions;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use std::convert::Infallible;
use uuid::Uuid;

/// Ends the caller's session; its refresh tokens are worth nothing from then on.
#[derive(Clone, Copy, Debug)]
pub struct SignOut {
    /// The person.
    pub person: Uuid,
    /// The session.
    pub session: Uuid,
}

#[derive(Serialize)]
struct Data {
    session: Uuid,
}

impl Operation for SignOut {
    type Permission = act::SignOut;
    type Outcome = ();
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<Infallible>> {
        diesel::update(sessions::table.find(self.session))
            .filter(sessions::person_id.eq(self.person))
            .set(sessions::revoked_at.eq(writing.at.to_diesel()))
            .execute(writing.connection)
            .await?;
        let data = Data {
            session: self.session,
        };
        writing.append("sign_out", Subject::new("person", self.person), &data)?;
        Ok(())
    }
}
