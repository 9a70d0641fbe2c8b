//! Telling a patient.

use super::events::{self, About, Outreach, Recorded};
use super::{WorkRefusal, show_work};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Puts an attempt to tell a patient on record.
#[derive(Clone, Debug)]
pub struct RecordOutreach {
    /// The notice.
    pub notice: Uuid,
    /// The patient, by id.
    pub patient: Uuid,
    /// How, and what came of it.
    pub outreach: Outreach,
}

impl Operation for RecordOutreach {
    type Permission = act::RecordOutreach;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        show_work::check_patient(writing, root, self.patient).await?;
        let about = About::Patient(self.patient);
        let kinds = ("record_outreach", "outreach");
        Ok(events::record(writing, root, kinds, about, &self.outreach).await?)
    }
}
