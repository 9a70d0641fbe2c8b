//! The work on a notice: its tasks, what was done, and whether it closes.

mod answer_notice;
mod change_notice_task;
mod check_effectiveness;
mod close_notice;
mod count_stock;
mod events;
mod explain_difference;
mod identity;
mod link_event;
mod list_notice_tasks;
mod record_check;
mod record_disclosure;
mod record_disposal;
mod record_outreach;
mod refusal;
mod review_patient;
mod show_work;
mod signer;
mod tasks;
mod write_letter;

pub use answer_notice::{AnswerNotice, Contact, FirmAnswer, LotAnswer};
pub use change_notice_task::{ChangeNoticeTask, ChangeNoticeTaskRefusal};
pub use check_effectiveness::CheckEffectiveness;
pub use close_notice::{CloseNotice, Closed};
pub use count_stock::CountStock;
pub use events::{
    Check, Count, Disposed, Explanation, NoticeEvent, Outreach, Recorded, Review, Sample, Signature,
};
pub use explain_difference::ExplainDifference;
pub use identity::LotIdentity;
pub use link_event::LinkEvent;
pub use list_notice_tasks::{TaskFilter, list as list_notice_tasks};
pub use record_check::RecordCheck;
pub use record_disclosure::{
    Accounted, Disclosure, RecordDisclosure, of_notice as disclosures_of_notice,
    of_patient as disclosures_of_patient,
};
pub use record_disposal::RecordDisposal;
pub use record_outreach::RecordOutreach;
pub use refusal::WorkRefusal;
pub use review_patient::ReviewPatient;
pub use show_work::{PatientWork, Work, newest_answer, show as show_work};
pub(super) use tasks::{open_again, open_all};
pub use write_letter::{Letter, WriteLetter};

use crate::database::StoreError;
use crate::schema::notice_tasks;
use diesel::prelude::*;
use jiff::Timestamp;
use lotwarden_domain::notices::{TaskKind, TaskState};
use uuid::Uuid;

/// A task of a notice.
#[derive(Clone, Debug)]
pub struct Task {
    /// The task.
    pub id: Uuid,
    /// The first notice of the matter.
    pub notice: Uuid,
    /// What has to be done.
    pub kind: TaskKind,
    /// Who does it.
    pub owner: Option<Uuid>,
    /// Until when.
    pub due_at: Timestamp,
    /// How far it is.
    pub state: TaskState,
    /// Who ended it, and when.
    pub ended: Option<(String, Timestamp)>,
    /// What was remarked.
    pub remark: Option<String>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = notice_tasks)]
pub(super) struct TaskRow {
    id: Uuid,
    notice_id: Uuid,
    kind: String,
    owner_id: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    due_at: Timestamp,
    state: String,
    ended_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    ended_at: jiff_diesel::NullableTimestamp,
    remark: Option<String>,
    version: i32,
}

impl TryFrom<TaskRow> for Task {
    type Error = StoreError;

    fn try_from(row: TaskRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            notice: row.notice_id,
            kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
            owner: row.owner_id,
            due_at: row.due_at,
            state: row.state.parse().map_err(|_| StoreError::Unfit)?,
            ended: row.ended_by.zip(row.ended_at.to_jiff()),
            remark: row.remark,
            version: row.version,
        })
    }
}
