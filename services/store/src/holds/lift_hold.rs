//! Lifting a hold.

use super::{Hold, HoldRow};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::holds;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Ends a hold with a reason.
#[derive(Clone, Debug)]
pub struct LiftHold {
    /// The hold.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a hold is not lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum LiftHoldRefusal {
    /// There is no such hold.
    #[error("there is no such hold")]
    NoSuchHold,
    /// It changed since the caller read it.
    #[error("the hold changed since it was read")]
    Stale,
    /// It is lifted already.
    #[error("the hold is lifted already")]
    LiftedAlready,
}

#[derive(Serialize)]
struct Data<'a> {
    reason: &'a str,
}

impl Operation for LiftHold {
    type Permission = act::LiftHold;
    type Outcome = Hold;
    type Refusal = LiftHoldRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Hold, Refused<LiftHoldRefusal>> {
        let (version, lifted): (i32, Option<String>) = holds::table
            .find(self.id)
            .select((holds::version, holds::lifted_by))
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(LiftHoldRefusal::NoSuchHold))?;
        if lifted.is_some() {
            return Err(Refused::Because(LiftHoldRefusal::LiftedAlready));
        }
        if version != self.version {
            return Err(Refused::Because(LiftHoldRefusal::Stale));
        }
        let row: HoldRow = diesel::update(holds::table.find(self.id))
            .set((
                holds::lifted_by.eq(writing.actor.to_string()),
                holds::lifted_at.eq(writing.at.to_diesel()),
                holds::lift_reason.eq(&self.reason),
                holds::version.eq(version + 1),
            ))
            .returning(HoldRow::as_select())
            .get_result(writing.connection)
            .await?;
        let data = Data {
            reason: &self.reason,
        };
        writing.append("lift_hold", Subject::new("hold", self.id), &data)?;
        Ok(row.try_into()?)
    }
}
