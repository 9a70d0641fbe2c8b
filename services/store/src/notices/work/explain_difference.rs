//! Explaining why the numbers of a lot do not close.

use super::events::{self, About, Explanation, Recorded};
use super::signer::signer;
use super::{WorkRefusal, identity};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Signs an explanation of the difference of a lot as it is now. The caller proved the signer's
/// secret again just before (21 CFR 11.200). When the numbers change, it counts no more.
#[derive(Clone, Debug)]
pub struct ExplainDifference {
    /// The notice.
    pub notice: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

impl Operation for ExplainDifference {
    type Permission = act::ExplainDifference;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        let (person, name) = signer(writing).await?;
        let lot = identity::one(writing, root, self.lot).await?;
        let difference = lot.unaccounted().filter(|difference| *difference != 0);
        let unaccounted = difference.ok_or(Refused::Because(WorkRefusal::NothingToExplain))?;
        let explanation = Explanation {
            name,
            person,
            reason: self.reason.clone(),
            unaccounted,
        };
        let kinds = ("explain_difference", "explanation");
        Ok(events::record(writing, root, kinds, About::Lot(self.lot), &explanation).await?)
    }
}
