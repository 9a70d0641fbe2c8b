//! Discarding a multi-dose vial.

use super::Vial;
use super::rows::{Asked, of};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::vials;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Discards a vial with what is left in it.
#[derive(Clone, Debug)]
pub struct DiscardVial {
    /// The vial.
    pub vial: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a vial is not discarded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum DiscardVialRefusal {
    /// There is no such vial.
    #[error("there is no such vial")]
    NoSuchVial,
    /// It was discarded before.
    #[error("the vial was discarded before")]
    Discarded,
}

#[derive(Serialize)]
struct Data<'a> {
    left_ml: Decimal,
    reason: &'a str,
}

impl Operation for DiscardVial {
    type Permission = act::DiscardVial;
    type Outcome = Vial;
    type Refusal = DiscardVialRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Vial, Refused<DiscardVialRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mut vial) = of(writing.connection, Asked::One(self.vial)).await?.pop() else {
            return refuse(DiscardVialRefusal::NoSuchVial);
        };
        if vial.discarded.is_some() {
            return refuse(DiscardVialRefusal::Discarded);
        }
        diesel::update(vials::table.find(self.vial))
            .set((
                vials::discarded_at.eq(writing.at.to_diesel()),
                vials::discard_reason.eq(&self.reason),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            left_ml: vial.left_ml(),
            reason: &self.reason,
        };
        writing.append("discard_vial", Subject::new("vial", self.vial), &data)?;
        vial.discarded = Some((writing.at, self.reason.clone()));
        Ok(vial)
    }
}
