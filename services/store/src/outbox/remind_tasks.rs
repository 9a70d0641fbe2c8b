//! Reminding of tasks.

use super::announce::{Said, announce};
use crate::moment::instant_text;
use crate::notices::desk_policy;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::notice_reminders;
use diesel::prelude::*;
use diesel::sql_query;
use diesel::sql_types::{Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::RunQueryDsl;
use jiff::SignedDuration;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::TaskKind;
use lotwarden_domain::outbox::{OutboxEvent, ReminderStage};
use serde::Serialize;
use uuid::Uuid;

/// Tells of each open task of a notice once when it is due soon and once when it is overdue.
#[derive(Clone, Copy, Debug)]
pub struct RemindTasks;

/// Why nobody is told of anything.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RemindTasksRefusal {
    /// No task is due soon or overdue that was not told of.
    #[error("no task is due that was not told of")]
    NothingDue,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = SqlUuid)]
    id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    notice_id: Uuid,
    #[diesel(sql_type = Text)]
    kind: String,
    #[diesel(sql_type = Timestamptz)]
    due_at: jiff_diesel::Timestamp,
    #[diesel(sql_type = Text)]
    stage: String,
    #[diesel(sql_type = Text)]
    firm: String,
    #[diesel(sql_type = Text)]
    reference: String,
}

/// What a webhook is told of a task.
#[derive(Serialize)]
struct TaskDue {
    notice_id: Uuid,
    reference: String,
    task_id: Uuid,
    kind: TaskKind,
    due_at: String,
    stage: ReminderStage,
}

#[derive(Serialize)]
struct Data {
    overdue: usize,
    soon: usize,
    tasks: Vec<Uuid>,
}

/// Tasks that one operation tells of at most.
const MOST: i64 = 200;

impl Operation for RemindTasks {
    type Permission = act::RemindTasks;
    /// How many were told of.
    type Outcome = usize;
    type Refusal = RemindTasksRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<usize, Refused<RemindTasksRefusal>> {
        let hours = desk_policy(writing.connection).await?.remind_hours;
        let soon = writing.at + SignedDuration::from_hours(hours.into());
        let rows: Vec<Row> = sql_query(format!(
            "SELECT t.id, t.notice_id, t.kind, t.due_at, s.stage, n.firm, n.reference
             FROM notice_tasks t JOIN notices n ON n.id = t.notice_id,
             LATERAL (SELECT CASE WHEN t.due_at < $1 THEN 'overdue' ELSE 'soon' END AS stage) s
             WHERE t.state = 'open' AND t.due_at < $2 AND n.state = 'open' AND NOT EXISTS (
                SELECT FROM notice_reminders r WHERE r.task_id = t.id AND r.stage = s.stage AND r.due_at = t.due_at)
             ORDER BY t.due_at, t.id LIMIT {MOST}"
        ))
        .bind::<Timestamptz, _>(writing.at.to_diesel())
        .bind::<Timestamptz, _>(soon.to_diesel())
        .load(writing.connection)
        .await?;
        if rows.is_empty() {
            return Err(Refused::Because(RemindTasksRefusal::NothingDue));
        }
        let mut data = Data {
            overdue: 0,
            soon: 0,
            tasks: rows.iter().map(|row| row.id).collect(),
        };
        for row in rows {
            match self.tell(writing, row).await? {
                ReminderStage::Soon => data.soon += 1,
                ReminderStage::Overdue => data.overdue += 1,
            }
        }
        let subject = Subject::new("facility", writing.facility.id);
        let count = data.tasks.len();
        writing.append("remind_tasks", subject, &data)?;
        Ok(count)
    }
}

impl RemindTasks {
    async fn tell(
        self,
        writing: &mut Writing<'_>,
        row: Row,
    ) -> Result<ReminderStage, crate::recorder::Failure> {
        let unfit = |_| crate::recorder::Failure::Unfit;
        let stage: ReminderStage = row.stage.parse().map_err(unfit)?;
        let kind: TaskKind = row.kind.parse().map_err(unfit)?;
        diesel::insert_into(notice_reminders::table)
            .values((
                notice_reminders::facility_id.eq(writing.facility.id),
                notice_reminders::task_id.eq(row.id),
                notice_reminders::stage.eq(stage.as_str()),
                notice_reminders::due_at.eq(row.due_at),
                notice_reminders::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let due_at = row.due_at.to_jiff();
        // People read their own clock; programs get the instant.
        let due_here = due_at.to_zoned(writing.facility.zone.clone());
        let due_here = due_here.strftime("%Y-%m-%d %H:%M %Z");
        let when = match stage {
            ReminderStage::Soon => "is due soon",
            ReminderStage::Overdue => "is overdue",
        };
        let subject = format!("Task {kind} of recall notice {} {when}", row.reference);
        let text = format!(
            "Recall notice {} of {}\nTask: {kind}\nDue: {due_here}\nIt {when}.\n",
            row.reference, row.firm
        );
        let told = TaskDue {
            notice_id: row.notice_id,
            reference: row.reference,
            task_id: row.id,
            kind,
            due_at: instant_text(due_at),
            stage,
        };
        let said = Said {
            event: OutboxEvent::NoticeTaskDue,
            data: &told,
            mail: (subject, text),
        };
        announce(writing, said).await?;
        Ok(stage)
    }
}
