//! How the site's routine checks stand: done, due, and missed.

use super::rows::{RecordRow, of};
use super::{Routine, RoutineRecord};
use crate::database::{Reading, StoreError};
use crate::facilities::Facility;
use crate::lists::{After, Page};
use crate::schema::{cases, routine_records, routines};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::ToSpan;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_domain::routines::{Period, PeriodState, Schedule};
use std::collections::BTreeSet;
use uuid::Uuid;

/// A routine check with its periods.
#[derive(Clone, Debug)]
pub struct RoutineStanding {
    /// The check.
    pub routine: Routine,
    /// Its periods, oldest first; the last one may be going on.
    pub periods: Vec<StandingPeriod>,
}

/// A period of a check.
#[derive(Clone, Copy, Debug)]
pub struct StandingPeriod {
    /// Its days.
    pub period: Period,
    /// How it stands.
    pub state: PeriodState,
    /// Whether a value was out of its limits and no complete check after it found all in theirs.
    pub out_of_limits: bool,
    /// The record that waits for its second person.
    pub unconfirmed: Option<Uuid>,
}

/// How every check stands on a day, with its periods since another day.
///
/// # Errors
/// [`StoreError`].
pub async fn standing(
    reading: &mut Reading,
    facility: &Facility,
    from: Date,
    today: Date,
) -> Result<Vec<RoutineStanding>, StoreError> {
    let connection = reading.connection();
    let all = of(connection, None).await?;
    let operating = operating(connection, facility, from, today).await?;
    // A period may have begun before the first day that is asked for.
    let since = from.saturating_sub(31.days());
    let rows: Vec<RecordRow> = routine_records::table
        .filter(routine_records::done_on.ge(since.to_diesel()))
        .order(routine_records::id)
        .select(RecordRow::as_select())
        .load(connection)
        .await?;
    let records: Vec<RoutineRecord> = rows
        .into_iter()
        .map(RoutineRecord::try_from)
        .collect::<Result<_, _>>()?;
    let stands = |routine: Routine| {
        // A check that was done on a day whose cases were all given up is seen too.
        let own = records.iter().filter(|record| record.routine == routine.id);
        let days: Vec<Date> = own.map(|record| record.done_on).collect();
        let operating = operating.iter().copied().chain(days).collect();
        let schedule = Schedule {
            every: routine.new.every,
            starts_on: routine.starts_on,
            ended_on: routine.ended.as_ref().map(|(ended, _)| *ended),
            operating: &operating,
        };
        let periods = schedule.periods(from, today).into_iter();
        let periods = periods.map(|period| stand(&routine, period, today, &records));
        RoutineStanding {
            periods: periods.collect(),
            routine,
        }
    };
    Ok(all.into_iter().map(stands).collect())
}

fn stand(
    routine: &Routine,
    period: Period,
    today: Date,
    records: &[RoutineRecord],
) -> StandingPeriod {
    let own: Vec<&RoutineRecord> = records
        .iter()
        .filter(|record| record.routine == routine.id && period.has(record.done_on))
        .collect();
    let complete = |record: &RoutineRecord| !routine.new.two_people || record.confirmed.is_some();
    let states: Vec<(bool, bool)> = own
        .iter()
        .map(|record| (record.late, complete(record)))
        .collect();
    let unconfirmed = own.iter().rev().find(|record| !complete(record));
    StandingPeriod {
        period,
        state: period.state(today, &states),
        out_of_limits: out_of_limits(&own, complete),
        unconfirmed: unconfirmed.map(|record| record.id),
    }
}

/// Whether the last word on a period is a value out of its limits. What counts is when a check was
/// done, not when it was written down: one of before the fault, or one that waits for its second
/// person, takes nothing back.
fn out_of_limits(own: &[&RoutineRecord], complete: impl Fn(&RoutineRecord) -> bool) -> bool {
    let last = |out: bool| {
        let those = own
            .iter()
            .filter(|record| record.out_of_limits == out && (out || complete(record)));
        those.map(|record| (record.done_at, record.id)).max()
    };
    last(true).is_some_and(|fault| last(false).is_none_or(|good| good < fault))
}

/// The days with a case that was not given up.
async fn operating(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    from: Date,
    today: Date,
) -> Result<BTreeSet<Date>, StoreError> {
    let start = |day: Date| {
        let start = day.to_zoned(facility.zone.clone());
        start
            .map(|start| start.timestamp().to_diesel())
            .map_err(|_| StoreError::Unfit)
    };
    let times: Vec<jiff_diesel::Timestamp> = cases::table
        .filter(cases::scheduled_for.ge(start(from)?))
        .filter(cases::scheduled_for.lt(start(today.saturating_add(1.day()))?))
        .filter(cases::status.ne(CaseStatus::NotDone.as_str()))
        .select(cases::scheduled_for)
        .load(connection)
        .await?;
    let days = times.into_iter().map(|at| facility.day(at.to_jiff()));
    Ok(days.collect())
}

/// Lists the records of a check in the order they were written down; none when there is no such
/// check.
///
/// # Errors
/// [`StoreError`].
pub async fn list_records(
    reading: &mut Reading,
    routine: Uuid,
    after: After,
) -> Result<Option<Page<RoutineRecord>>, StoreError> {
    let known = routines::table.filter(routines::id.eq(routine));
    if !diesel::select(exists(known))
        .get_result(reading.connection())
        .await?
    {
        return Ok(None);
    }
    let rows: Vec<RecordRow> = routine_records::table
        .filter(routine_records::routine_id.eq(routine))
        .filter(routine_records::id.gt(after.start()))
        .order(routine_records::id)
        .limit(after.fetch())
        .select(RecordRow::as_select())
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(RoutineRecord::try_from);
    let items = items.collect::<Result<_, _>>()?;
    Ok(Some(Page::of(items, after, |record: &RoutineRecord| {
        record.id
    })))
}
