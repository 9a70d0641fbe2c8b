//! What a person has to settle: held scans that turned out to be a stop, and emergency accesses
//! that nobody reviewed yet.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{emergency_accesses, scans, task_settlements};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// What an open task is about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TaskKind {
    /// A station held the scan, and when it was delivered it was a stop: the item may have been
    /// used meanwhile.
    HeldScanStopped,
    /// Somebody took emergency access to the case.
    EmergencyAccess {
        /// Who.
        person: Uuid,
    },
}

/// An open task.
#[derive(Clone, Copy, Debug)]
pub struct Task {
    /// The scan, or the emergency access.
    pub id: Uuid,
    /// What it is about.
    pub kind: TaskKind,
    /// The case.
    pub case: Uuid,
    /// When it was raised.
    pub raised_at: Timestamp,
}

/// Lists open tasks in the order they were raised.
///
/// # Errors
/// [`StoreError`].
pub async fn list_tasks(reading: &mut Reading, after: After) -> Result<Page<Task>, StoreError> {
    type Held = (Uuid, Uuid, jiff_diesel::Timestamp);
    let settled = task_settlements::table.filter(task_settlements::scan_id.eq(scans::id));
    let held: Vec<Held> = scans::table
        .filter(scans::facility_id.eq(reading.facility()))
        .filter(scans::held_session_id.is_not_null())
        .filter(scans::verdict.eq("stop"))
        .filter(scans::id.gt(after.start()))
        .filter(diesel::dsl::not(diesel::dsl::exists(settled)))
        .order(scans::id)
        .limit(after.fetch())
        .select((scans::id, scans::case_id, scans::received_at))
        .load(reading.connection())
        .await?;
    type Taken = (Uuid, Uuid, Uuid, jiff_diesel::Timestamp);
    let taken: Vec<Taken> = emergency_accesses::table
        .filter(emergency_accesses::facility_id.eq(reading.facility()))
        .filter(emergency_accesses::reviewed_at.is_null())
        .filter(emergency_accesses::id.gt(after.start()))
        .order(emergency_accesses::id)
        .limit(after.fetch())
        .select((
            emergency_accesses::id,
            emergency_accesses::case_id,
            emergency_accesses::person_id,
            emergency_accesses::taken_at,
        ))
        .load(reading.connection())
        .await?;
    let held = held.into_iter().map(|(id, case, at)| Task {
        id,
        kind: TaskKind::HeldScanStopped,
        case,
        raised_at: at.to_jiff(),
    });
    let taken = taken.into_iter().map(|(id, case, person, at)| Task {
        id,
        kind: TaskKind::EmergencyAccess { person },
        case,
        raised_at: at.to_jiff(),
    });
    let mut tasks: Vec<Task> = held.chain(taken).collect();
    tasks.sort_by_key(|task| task.id);
    Ok(Page::of(tasks, after, |task| task.id))
}

/// Settles a held scan that turned out to be a stop, with what was done about it.
#[derive(Clone, Debug)]
pub struct SettleTask {
    /// The scan.
    pub scan: Uuid,
    /// What was done: 3 to 500 characters.
    pub note: String,
}

/// Why a task is not settled.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SettleTaskRefusal {
    /// There is no such task.
    #[error("there is no such task")]
    NoSuchTask,
    /// Somebody settled it before.
    #[error("the task was settled before")]
    SettledAlready,
}

#[derive(Serialize)]
struct Data<'a> {
    note: &'a str,
}

impl Operation for SettleTask {
    type Permission = act::SettleTask;
    type Outcome = ();
    type Refusal = SettleTaskRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<SettleTaskRefusal>> {
        let case: Uuid = scans::table
            .filter(scans::facility_id.eq(writing.facility.id))
            .filter(scans::held_session_id.is_not_null())
            .filter(scans::verdict.eq("stop"))
            .filter(scans::id.eq(self.scan))
            .select(scans::case_id)
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(SettleTaskRefusal::NoSuchTask))?;
        let new = diesel::insert_into(task_settlements::table)
            .values((
                task_settlements::facility_id.eq(writing.facility.id),
                task_settlements::scan_id.eq(self.scan),
                task_settlements::settled_by.eq(writing.actor.to_string()),
                task_settlements::settled_at.eq(writing.at.to_diesel()),
                task_settlements::note.eq(&self.note),
            ))
            .on_conflict_do_nothing()
            .execute(writing.connection)
            .await?;
        if new == 0 {
            return Err(Refused::Because(SettleTaskRefusal::SettledAlready));
        }
        let data = Data { note: &self.note };
        let subject = Subject::of_case("scan", self.scan, case);
        writing.append("settle_task", subject, &data)?;
        Ok(())
    }
}
