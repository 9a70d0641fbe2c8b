//! Reading tasks.

use super::{Task, TaskRow};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::notice_tasks;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::notices::TaskState;
use uuid::Uuid;

/// Which tasks are asked for.
#[derive(Clone, Copy, Debug, Default)]
pub struct TaskFilter {
    /// Only those in this state.
    pub state: Option<TaskState>,
    /// Only those of this person.
    pub owner: Option<Uuid>,
    /// Only open ones that were due before.
    pub due_before: Option<Timestamp>,
}

/// Lists tasks in the order they were made.
///
/// # Errors
/// [`StoreError`].
pub async fn list(
    reading: &mut Reading,
    filter: TaskFilter,
    after: After,
) -> Result<Page<Task>, StoreError> {
    let mut query = notice_tasks::table
        .filter(notice_tasks::id.gt(after.start()))
        .order(notice_tasks::id)
        .limit(after.fetch())
        .select(TaskRow::as_select())
        .into_boxed();
    if let Some(state) = filter.state {
        query = query.filter(notice_tasks::state.eq(state.as_str()));
    }
    if let Some(owner) = filter.owner {
        query = query.filter(notice_tasks::owner_id.eq(owner));
    }
    if let Some(before) = filter.due_before {
        query = query
            .filter(notice_tasks::state.eq(TaskState::Open.as_str()))
            .filter(notice_tasks::due_at.lt(before.to_diesel()));
    }
    let rows: Vec<TaskRow> = query.load(reading.connection()).await?;
    let items = rows.into_iter().map(Task::try_from);
    let items = items.collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |task| task.id))
}
