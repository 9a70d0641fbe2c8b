//! Recording what a routine check found.

use super::rows::{RecordRow, of};
use super::{Found, RoutineRecord};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::routine_records;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::routines::{AskedKind, NotOfItsKind};
use serde::Serialize;
use uuid::Uuid;

/// Records what a routine check found. One that is written down after its period says so.
#[derive(Clone, Debug)]
pub struct RecordRoutine {
    /// The check.
    pub routine: Uuid,
    /// When it was done; now without one.
    pub done_at: Option<Timestamp>,
    /// The values, in the order they are asked for.
    pub found: Vec<Found>,
    /// What was done about a value out of its limits.
    pub action: Option<String>,
}

/// Why a check is not recorded.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum RecordRoutineRefusal {
    /// There is no such check.
    #[error("there is no such check")]
    NoSuchRoutine,
    /// It is not on the list any more, or was not yet.
    #[error("the check was not on the site's list on that day")]
    NotAsked,
    /// It lies in the future.
    #[error("must not lie in the future")]
    NotYet,
    /// Its values are others.
    #[error("give each value that the check asks for, in its order")]
    OtherValues,
    /// A value is not of its kind.
    #[error("must be {}", kind.expected())]
    NotOfItsKind {
        /// Which one.
        at: usize,
        /// What it has to be.
        kind: AskedKind,
    },
    /// Nobody says what was done.
    #[error("a value is out of its limits; say what was done about it")]
    ActionMissing,
    /// Only a person checks.
    #[error("a check is recorded by a person")]
    NotAPerson,
}

#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    action: Option<&'a str>,
    done_at: Timestamp,
    done_on: Date,
    found: &'a [Found],
    late: bool,
    out_of_limits: bool,
    routine: Uuid,
}

impl Operation for RecordRoutine {
    type Permission = act::RecordRoutine;
    type Outcome = RoutineRecord;
    type Refusal = RecordRoutineRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<RoutineRecord, Refused<RecordRoutineRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Actor::Person(person) = *writing.actor else {
            return refuse(RecordRoutineRefusal::NotAPerson);
        };
        let Some(routine) = of(writing.connection, Some(self.routine)).await?.pop() else {
            return refuse(RecordRoutineRefusal::NoSuchRoutine);
        };
        let done_at = self.done_at.unwrap_or(writing.at);
        if done_at > writing.at {
            return refuse(RecordRoutineRefusal::NotYet);
        }
        let (done_on, today) = (
            writing.facility.day(done_at),
            writing.facility.day(writing.at),
        );
        let period = routine.new.every.period(done_on);
        let ended = routine.ended.as_ref().map(|(ended, _)| *ended);
        if period.last < routine.starts_on || ended.is_some_and(|ended| done_on >= ended) {
            return refuse(RecordRoutineRefusal::NotAsked);
        }
        let names = routine.new.asked.iter().map(|asked| &asked.name);
        if !names.eq(self.found.iter().map(|found| &found.name)) {
            return refuse(RecordRoutineRefusal::OtherValues);
        }
        let mut out_of_limits = false;
        for (at, (asked, found)) in routine.new.asked.iter().zip(&self.found).enumerate() {
            match asked.in_limits(&found.value) {
                Ok(within) => out_of_limits |= !within,
                Err(NotOfItsKind(kind)) => {
                    return refuse(RecordRoutineRefusal::NotOfItsKind { at, kind });
                }
            }
        }
        if out_of_limits && self.action.is_none() {
            return refuse(RecordRoutineRefusal::ActionMissing);
        }
        let record = RoutineRecord {
            id: writing.new_id(),
            routine: self.routine,
            done_at,
            done_on,
            late: !period.has(today),
            found: self.found.clone(),
            out_of_limits,
            action: self.action.clone(),
            recorded: (person, writing.at),
            confirmed: None,
        };
        keep(writing, &record).await?;
        let data = Data {
            action: self.action.as_deref(),
            done_at,
            done_on,
            found: &self.found,
            late: record.late,
            out_of_limits,
            routine: self.routine,
        };
        let subject = Subject::new("routine_record", record.id);
        writing.append("record_routine", subject, &data)?;
        Ok(record)
    }
}

async fn keep(writing: &mut Writing<'_>, record: &RoutineRecord) -> Result<(), StoreError> {
    let found = serde_json::to_value(&record.found).map_err(|_| StoreError::Unfit)?;
    diesel::insert_into(routine_records::table)
        .values((
            routine_records::facility_id.eq(writing.facility.id),
            routine_records::id.eq(record.id),
            routine_records::routine_id.eq(record.routine),
            routine_records::done_at.eq(record.done_at.to_diesel()),
            routine_records::done_on.eq(record.done_on.to_diesel()),
            routine_records::late.eq(record.late),
            routine_records::found.eq(found),
            routine_records::out_of_limits.eq(record.out_of_limits),
            routine_records::action.eq(&record.action),
            routine_records::recorded_by.eq(record.recorded.0),
            routine_records::recorded_at.eq(record.recorded.1.to_diesel()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}

/// Confirms a check as the second person.
#[derive(Clone, Copy, Debug)]
pub struct ConfirmRoutine {
    /// The check.
    pub routine: Uuid,
    /// Its record.
    pub record: Uuid,
}

/// Why a check is not confirmed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ConfirmRoutineRefusal {
    /// The check has no such record.
    #[error("the check has no such record")]
    NoSuchRecord,
    /// It is confirmed already.
    #[error("the record is confirmed already")]
    ConfirmedAlready,
    /// Whoever recorded it does not confirm it.
    #[error("the second person is another one than the first")]
    SamePerson,
}

#[derive(Serialize)]
struct Confirmed {
    routine: Uuid,
}

impl Operation for ConfirmRoutine {
    type Permission = act::ConfirmRoutine;
    type Outcome = RoutineRecord;
    type Refusal = ConfirmRoutineRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<RoutineRecord, Refused<ConfirmRoutineRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let row: Option<RecordRow> = routine_records::table
            .find(self.record)
            .filter(routine_records::routine_id.eq(self.routine))
            .select(RecordRow::as_select())
            .first(writing.connection)
            .await
            .optional()?;
        let Some(row) = row else {
            return refuse(ConfirmRoutineRefusal::NoSuchRecord);
        };
        let mut record = RoutineRecord::try_from(row)?;
        if record.confirmed.is_some() {
            return refuse(ConfirmRoutineRefusal::ConfirmedAlready);
        }
        let person = match *writing.actor {
            Actor::Person(person) if person != record.recorded.0 => person,
            _ => return refuse(ConfirmRoutineRefusal::SamePerson),
        };
        diesel::update(routine_records::table.find(self.record))
            .set((
                routine_records::confirmed_by.eq(person),
                routine_records::confirmed_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        record.confirmed = Some((person, writing.at));
        let subject = Subject::new("routine_record", self.record);
        let data = Confirmed {
            routine: self.routine,
        };
        writing.append("confirm_routine", subject, &data)?;
        Ok(record)
    }
}
