//! Making the tasks of a notice, and opening them again.

use super::super::policy;
use crate::facilities::Facility;
use crate::recorder::{Failure, Writing};
use crate::schema::notice_tasks;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::{SignedDuration, Timestamp, ToSpan};
use jiff_diesel::ToDiesel;
use lotwarden_domain::deadlines::after_work_days;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::{NoticePolicy, Target, TaskKind, TaskState};
use uuid::Uuid;

/// When a task is due that begins now: days end at midnight in the facility's zone.
fn due_at(
    facility: &Facility,
    now: Timestamp,
    policy: &NoticePolicy,
    (kind, class): (TaskKind, Option<RecallClass>),
) -> Result<Timestamp, Failure> {
    let today = facility.day(now);
    let day = match policy.target(kind, class) {
        Target::Hours(hours) => return Ok(now + SignedDuration::from_hours(hours)),
        Target::WorkDays(days) => after_work_days(today, days).due_on,
        Target::Days(days) => today.saturating_add(days.days()),
    };
    let end = day.saturating_add(1.day()).to_zoned(facility.zone.clone());
    Ok(end.map_err(|_| Failure::Unfit)?.timestamp())
}

/// Makes every task of a notice that is confirmed; gives their number.
pub(in crate::notices) async fn open_all(
    writing: &mut Writing<'_>,
    notice: Uuid,
    class: Option<RecallClass>,
) -> Result<usize, Failure> {
    let policy = policy::current(writing.connection).await?.policy;
    let mut rows = Vec::new();
    for kind in TaskKind::ALL {
        let due_at = due_at(writing.facility, writing.at, &policy, (*kind, class))?;
        rows.push((
            notice_tasks::facility_id.eq(writing.facility.id),
            notice_tasks::id.eq(writing.new_id()),
            notice_tasks::notice_id.eq(notice),
            notice_tasks::kind.eq(kind.as_str()),
            notice_tasks::due_at.eq(due_at.to_diesel()),
            notice_tasks::state.eq(TaskState::Open.as_str()),
        ));
    }
    diesel::insert_into(notice_tasks::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    Ok(rows.len())
}

/// Opens the ended tasks of a notice again, with new due times: an update asks for all of it anew.
/// Those still open keep the due time they have.
pub(in crate::notices) async fn open_again(
    writing: &mut Writing<'_>,
    notice: Uuid,
    class: Option<RecallClass>,
) -> Result<usize, Failure> {
    let policy = policy::current(writing.connection).await?.policy;
    let mut opened = 0;
    for kind in TaskKind::ALL {
        let due_at = due_at(writing.facility, writing.at, &policy, (*kind, class))?;
        let ended = notice_tasks::table
            .filter(notice_tasks::notice_id.eq(notice))
            .filter(notice_tasks::kind.eq(kind.as_str()))
            .filter(notice_tasks::state.ne(TaskState::Open.as_str()));
        opened += diesel::update(ended)
            .set((
                notice_tasks::state.eq(TaskState::Open.as_str()),
                notice_tasks::due_at.eq(due_at.to_diesel()),
                notice_tasks::ended_by.eq(None::<String>),
                notice_tasks::ended_at.eq(None::<jiff_diesel::Timestamp>),
                notice_tasks::version.eq(notice_tasks::version + 1),
            ))
            .execute(writing.connection)
            .await?;
    }
    Ok(opened)
}
