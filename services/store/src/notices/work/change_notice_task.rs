//! Changing a task.

use super::{Task, TaskRow};
use crate::access::people;
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::notice_tasks;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{TaskKind, TaskState};
use serde::Serialize;
use uuid::Uuid;

/// Puts a task's owner, due time and state anew.
#[derive(Clone, Debug)]
pub struct ChangeNoticeTask {
    /// The task.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Who does it.
    pub owner: Option<Uuid>,
    /// Until when.
    pub due_at: Timestamp,
    /// How far it is.
    pub state: TaskState,
    /// What there is to remark; a task that is not needed says why.
    pub remark: Option<String>,
}

/// Why a task is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeNoticeTaskRefusal {
    /// There is no such task.
    #[error("there is no such task")]
    NoSuchTask,
    /// It changed since the caller read it.
    #[error("the task changed since it was read")]
    Stale,
    /// There is no such person.
    #[error("there is no such person, or the account ended")]
    NoSuchPerson,
    /// Closing is done by two signatures.
    #[error("the closing is done by two signatures and by nothing else")]
    Closing,
}

#[derive(Serialize)]
struct State {
    due_at: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    owner: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    remark: Option<String>,
    state: TaskState,
}

#[derive(Serialize)]
struct Data {
    kind: TaskKind,
    new: State,
    old: State,
    task: Uuid,
}

impl Operation for ChangeNoticeTask {
    type Permission = act::ChangeNoticeTask;
    type Outcome = Task;
    type Refusal = ChangeNoticeTaskRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Task, Refused<ChangeNoticeTaskRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let row: Option<TaskRow> = notice_tasks::table
            .find(self.id)
            .select(TaskRow::as_select())
            .first(writing.connection)
            .await
            .optional()?;
        let Some(row) = row else {
            return refuse(ChangeNoticeTaskRefusal::NoSuchTask);
        };
        let old = Task::try_from(row)?;
        if old.version != self.version {
            return refuse(ChangeNoticeTaskRefusal::Stale);
        }
        if old.kind == TaskKind::Closing && self.state != old.state {
            return refuse(ChangeNoticeTaskRefusal::Closing);
        }
        // Whoever has it may have left since; only a new owner has to be here.
        if let Some(owner) = self.owner.filter(|owner| Some(*owner) != old.owner)
            && !people::is_here(writing, owner).await?
        {
            return refuse(ChangeNoticeTaskRefusal::NoSuchPerson);
        }
        let ended = (self.state != TaskState::Open).then(|| match &old.ended {
            Some(ended) if old.state == self.state => ended.clone(),
            _ => (writing.actor.to_string(), writing.at),
        });
        let (by, at) = ended.unzip();
        let row: TaskRow = diesel::update(notice_tasks::table.find(self.id))
            .set((
                notice_tasks::owner_id.eq(self.owner),
                notice_tasks::due_at.eq(self.due_at.to_diesel()),
                notice_tasks::state.eq(self.state.as_str()),
                notice_tasks::ended_by.eq(by),
                notice_tasks::ended_at.eq(at.map(ToDiesel::to_diesel)),
                notice_tasks::remark.eq(&self.remark),
                notice_tasks::version.eq(self.version + 1),
            ))
            .returning(TaskRow::as_select())
            .get_result(writing.connection)
            .await?;
        let new = Task::try_from(row)?;
        let data = Data {
            kind: new.kind,
            new: State::of(&new),
            old: State::of(&old),
            task: new.id,
        };
        writing.append(
            "change_notice_task",
            Subject::new("notice", new.notice),
            &data,
        )?;
        Ok(new)
    }
}

impl State {
    fn of(task: &Task) -> Self {
        Self {
            due_at: instant_text(task.due_at),
            owner: task.owner,
            remark: task.remark.clone(),
            state: task.state,
        }
    }
}
