//! Listing cases, without patient identity.

use super::{Case, CaseRow, named};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{cases, locations, people};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::CaseStatus;
use uuid::Uuid;

/// Which cases are asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct CaseFilter {
    /// Only those in a state.
    pub status: Option<CaseStatus>,
    /// Only those in a room.
    pub location: Option<Uuid>,
    /// Only those planned from the first instant until before the second.
    pub scheduled: Option<(Timestamp, Timestamp)>,
}

impl CaseFilter {
    /// Asks for the cases planned on a civil day in a zone; a day that the calendar cannot hold
    /// asks for none.
    #[must_use]
    pub fn on_day(mut self, zone: &TimeZone, day: Date) -> Self {
        let start = |day: Date| day.to_zoned(zone.clone()).map(|start| start.timestamp());
        let bounds = day
            .tomorrow()
            .and_then(|next| Ok((start(day)?, start(next)?)));
        self.scheduled = Some(bounds.unwrap_or((Timestamp::UNIX_EPOCH, Timestamp::UNIX_EPOCH)));
        self
    }
}

/// Lists cases in the order they were opened.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: CaseFilter,
    after: After,
) -> Result<Page<Case>, StoreError> {
    let mut query = named()
        .filter(cases::id.gt(after.start()))
        .order(cases::id)
        .limit(after.fetch())
        .select((CaseRow::as_select(), locations::name, people::name))
        .into_boxed();
    if let Some(status) = filter.status {
        query = query.filter(cases::status.eq(status.as_str()));
    }
    if let Some(location) = filter.location {
        query = query.filter(cases::location_id.eq(location));
    }
    if let Some((from, before)) = filter.scheduled {
        query = query
            .filter(cases::scheduled_for.ge(from.to_diesel()))
            .filter(cases::scheduled_for.lt(before.to_diesel()));
    }
    let rows: Vec<(CaseRow, String, String)> = query.load(reading.connection()).await?;
    let items = rows.into_iter().map(Case::of).collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |case| case.id))
}

/// The cases that started from one instant until before another, or were planned for then and did
/// not start, in the order of time, at most so many.
pub(crate) async fn between(
    connection: &mut AsyncPgConnection,
    from: Timestamp,
    before: Timestamp,
    most: usize,
) -> Result<Vec<Case>, StoreError> {
    let unstarted = cases::started_at
        .is_null()
        .and(cases::scheduled_for.ge(from.to_diesel()))
        .and(cases::scheduled_for.lt(before.to_diesel()));
    let started = cases::started_at
        .ge(from.to_diesel())
        .and(cases::started_at.lt(before.to_diesel()));
    let rows: Vec<(CaseRow, String, String)> = named()
        .filter(unstarted.or(started.assume_not_null()))
        .order((cases::started_at.asc().nulls_last(), cases::id))
        .limit(i64::try_from(most).unwrap_or(i64::MAX))
        .select((CaseRow::as_select(), locations::name, people::name))
        .load(connection)
        .await?;
    let mut found = rows
        .into_iter()
        .map(Case::of)
        .collect::<Result<Vec<_>, _>>()?;
    found.sort_by_key(|case| (case.started_at.unwrap_or(case.scheduled_for), case.id));
    Ok(found)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    // IANA time zone database, America/Chicago: daylight saving time ended on 2026-11-01.
    #[test]
    fn a_day_has_the_hours_of_its_zone() {
        let zone = TimeZone::get("America/Chicago").unwrap();
        let filter = CaseFilter::default().on_day(&zone, date(2026, 11, 1));
        let (from, before) = filter.scheduled.unwrap();
        assert_eq!(from.to_string(), "2026-11-01T05:00:00Z");
        assert_eq!(before.duration_since(from).as_hours(), 25);
    }
}
