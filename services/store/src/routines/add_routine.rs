//! The site's list of routine checks.

use super::rows::of;
use super::{NewRoutine, Routine};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{locations, routines};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Adds a routine check to the site's list; it is asked for from today on.
#[derive(Clone, Debug)]
pub struct AddRoutine {
    /// The check.
    pub new: NewRoutine,
}

/// Why a check is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddRoutineRefusal {
    /// There is no such place.
    #[error("there is no such place")]
    NoSuchPlace,
}

impl Operation for AddRoutine {
    type Permission = act::AddRoutine;
    type Outcome = Routine;
    type Refusal = AddRoutineRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Routine, Refused<AddRoutineRefusal>> {
        let new = &self.new;
        if let Some(location) = new.location {
            let known = locations::table.filter(locations::id.eq(location));
            if !diesel::select(exists(known))
                .get_result(writing.connection)
                .await?
            {
                return Err(Refused::Because(AddRoutineRefusal::NoSuchPlace));
            }
        }
        let id = writing.new_id();
        let asked = serde_json::to_value(&new.asked).map_err(|_| StoreError::Unfit)?;
        let today = writing.facility.day(writing.at);
        diesel::insert_into(routines::table)
            .values((
                routines::facility_id.eq(writing.facility.id),
                routines::id.eq(id),
                routines::name.eq(&new.name),
                routines::location_id.eq(new.location),
                routines::every.eq(new.every.as_str()),
                routines::two_people.eq(new.two_people),
                routines::asked.eq(asked),
                routines::source.eq(&new.source),
                routines::starts_on.eq(today.to_diesel()),
                routines::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        writing.append("add_routine", Subject::new("routine", id), new)?;
        let added = of(writing.connection, Some(id)).await?.pop();
        Ok(added.ok_or(StoreError::Unfit)?)
    }
}

/// Ends a routine check: from today on it is not asked for.
#[derive(Clone, Debug)]
pub struct EndRoutine {
    /// The check.
    pub routine: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a check is not ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EndRoutineRefusal {
    /// There is no such check.
    #[error("there is no such check")]
    NoSuchRoutine,
    /// It ended before.
    #[error("the check ended before")]
    Ended,
}

#[derive(Serialize)]
struct Data<'a> {
    reason: &'a str,
}

impl Operation for EndRoutine {
    type Permission = act::EndRoutine;
    type Outcome = Routine;
    type Refusal = EndRoutineRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Routine, Refused<EndRoutineRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mut routine) = of(writing.connection, Some(self.routine)).await?.pop() else {
            return refuse(EndRoutineRefusal::NoSuchRoutine);
        };
        if routine.ended.is_some() {
            return refuse(EndRoutineRefusal::Ended);
        }
        let today = writing.facility.day(writing.at);
        diesel::update(routines::table.find(self.routine))
            .set((
                routines::ended_on.eq(today.to_diesel()),
                routines::end_reason.eq(&self.reason),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("routine", self.routine);
        let data = Data {
            reason: &self.reason,
        };
        writing.append("end_routine", subject, &data)?;
        routine.ended = Some((today, self.reason.clone()));
        Ok(routine)
    }
}
