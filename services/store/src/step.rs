//! Who did a step of a record, and when.

use crate::database::StoreError;
use crate::schema::people;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use std::collections::HashMap;
use uuid::Uuid;

/// Who did a step, and when.
#[derive(Clone, Debug)]
pub struct Step {
    /// The person.
    pub person: Uuid,
    /// The printed name.
    pub name: String,
    /// When.
    pub at: Timestamp,
}

/// The printed names of people.
pub(crate) struct Names(HashMap<Uuid, String>);

impl Names {
    pub(crate) async fn of(
        connection: &mut AsyncPgConnection,
        people: Vec<Uuid>,
    ) -> Result<Self, StoreError> {
        let found: Vec<(Uuid, String)> = people::table
            .filter(people::id.eq_any(people))
            .select((people::id, people::name))
            .load(connection)
            .await?;
        Ok(Self(found.into_iter().collect()))
    }

    pub(crate) fn step(&self, person: Uuid, at: Timestamp) -> Step {
        Step {
            person,
            name: self.0.get(&person).cloned().unwrap_or_default(),
            at,
        }
    }
}
