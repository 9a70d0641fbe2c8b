//! Who signs.

use super::WorkRefusal;
use crate::recorder::{Refused, Writing};
use crate::schema::people;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::Actor;
use uuid::Uuid;

/// The person who acts, with the printed name (21 CFR 11.50(a)(1)).
pub(super) async fn signer(
    writing: &mut Writing<'_>,
) -> Result<(Uuid, String), Refused<WorkRefusal>> {
    let Actor::Person(person) = *writing.actor else {
        return Err(Refused::Because(WorkRefusal::NotAPerson));
    };
    let name: String = people::table
        .find(person)
        .select(people::name)
        .first(writing.connection)
        .await?;
    Ok((person, name))
}
