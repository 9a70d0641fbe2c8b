//! Lifting the hold of a load by a person's decision.

use super::Load;
use super::add_sterilizer::find as sterilizer;
use super::rows::{Asked, find, of};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::loads;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::loads::{
    AfterPositive, Biological, IndicatorKind, after_positive, suspect_loads,
};
use serde::Serialize;
use uuid::Uuid;

/// Lifts the hold of a load, where the sterilizer's policy leaves that to a person: a single
/// positive with good other indicators, a negative repeat, and no implant in any suspect load.
#[derive(Clone, Debug)]
pub struct ClearLoad {
    /// The load.
    pub load: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a hold is not lifted.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ClearLoadRefusal {
    /// There is no such load.
    #[error("there is no such load")]
    NoSuchLoad,
    /// It changed since the caller read it.
    #[error("the load changed since it was read")]
    Stale,
    /// It is not held.
    #[error("the load is not held")]
    NotHeld,
    /// The policy or the indicators leave nothing to decide.
    #[error(
        "the sterilizer's policy and the indicators leave no decision: what is in this load is \
         processed again"
    )]
    NothingToDecide,
}

#[derive(Serialize)]
struct Data<'a> {
    held_reason: &'a str,
    reason: &'a str,
}

impl Operation for ClearLoad {
    type Permission = act::ClearLoad;
    type Outcome = Load;
    type Refusal = ClearLoadRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Load, Refused<ClearLoadRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(load) = find(writing.connection, self.load).await? else {
            return refuse(ClearLoadRefusal::NoSuchLoad);
        };
        let Some((_, held_reason)) = &load.held else {
            return refuse(ClearLoadRefusal::NotHeld);
        };
        if load.version != self.version {
            return refuse(ClearLoadRefusal::Stale);
        }
        if !self.left_to_a_person(writing, &load).await? {
            return refuse(ClearLoadRefusal::NothingToDecide);
        }
        diesel::update(loads::table.find(self.load))
            .set((
                loads::held_at.eq(None::<jiff_diesel::Timestamp>),
                loads::held_reason.eq(None::<String>),
                loads::version.eq(loads::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            held_reason,
            reason: &self.reason,
        };
        writing.append("clear_load", Subject::new("load", self.load), &data)?;
        let load = find(writing.connection, self.load).await?;
        Ok(load.ok_or(StoreError::Unfit)?)
    }
}

impl ClearLoad {
    /// Whether every positive that makes the load suspect leaves the decision to a person, and the
    /// load's own other indicators are good.
    async fn left_to_a_person(
        &self,
        writing: &mut Writing<'_>,
        load: &Load,
    ) -> Result<bool, StoreError> {
        let own = load.sterilizer.0;
        let sterilizer = sterilizer(writing, own).await?.ok_or(StoreError::Unfit)?;
        let all = of(writing.connection, Asked::OfSterilizer(own)).await?;
        let shown: Vec<Biological> = all.iter().map(Load::biological).collect();
        let good = |load: &Load| {
            load.good(IndicatorKind::Mechanical) && load.good(IndicatorKind::Chemical)
        };
        let place = all.iter().position(|each| each.id == load.id);
        let place = place.ok_or(StoreError::Unfit)?;
        let decides = |(at, positive): (usize, &Load)| {
            let suspects = suspect_loads(&shown, at);
            if !suspects.contains(&place) {
                return true;
            }
            let implant = all
                .get(suspects)
                .unwrap_or_default()
                .iter()
                .any(Load::has_implant);
            let policy = sterilizer.positive_policy;
            let after = after_positive(policy, implant, good(positive), positive.repeat());
            after == AfterPositive::Decide
        };
        Ok(good(load) && all.iter().enumerate().all(decides))
    }
}
