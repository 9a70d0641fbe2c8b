//! Counting what is on the shelf.

use super::events::{self, About, Count, Recorded};
use super::{WorkRefusal, identity};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Puts on record what a person found of a lot: a later count stands in the place of an earlier one.
#[derive(Clone, Debug)]
pub struct CountStock {
    /// The notice.
    pub notice: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// What was found.
    pub count: Count,
}

impl Operation for CountStock {
    type Permission = act::CountStock;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        identity::check_lot(writing, root, self.lot).await?;
        let about = About::Lot(self.lot);
        let kinds = ("count_stock", "count");
        Ok(events::record(writing, root, kinds, about, &self.count).await?)
    }
}
