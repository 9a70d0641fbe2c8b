//! Deciding for a patient.

use super::events::{self, About, Recorded, Review};
use super::{WorkRefusal, show_work};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Puts the practitioner's decision for a patient on record; a later one stands in its place.
#[derive(Clone, Debug)]
pub struct ReviewPatient {
    /// The notice.
    pub notice: Uuid,
    /// The patient, by id.
    pub patient: Uuid,
    /// The decision.
    pub review: Review,
}

impl Operation for ReviewPatient {
    type Permission = act::ReviewPatient;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        show_work::check_patient(writing, root, self.patient).await?;
        let about = About::Patient(self.patient);
        let kinds = ("review_patient", "review");
        Ok(events::record(writing, root, kinds, about, &self.review).await?)
    }
}
