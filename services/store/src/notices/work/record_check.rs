//! The check of a patient who was drawn.

use super::WorkRefusal;
use super::events::{self, About, Check, Recorded, Sample};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Puts the result of an effectiveness check of a patient on record.
#[derive(Clone, Debug)]
pub struct RecordCheck {
    /// The notice.
    pub notice: Uuid,
    /// The patient, by id.
    pub patient: Uuid,
    /// What the check found.
    pub check: Check,
}

impl Operation for RecordCheck {
    type Permission = act::RecordCheck;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let all = events::all(writing.connection, root).await?;
        let last = events::of_kind::<Sample>(&all, "sample")
            .last()
            .transpose()?;
        let drawn = last.is_some_and(|(_, sample)| sample.patients.contains(&self.patient));
        if !drawn {
            return Err(Refused::Because(WorkRefusal::NotDrawn));
        }
        let about = About::Patient(self.patient);
        let kinds = ("record_check", "check");
        Ok(events::record(writing, root, kinds, about, &self.check).await?)
    }
}
