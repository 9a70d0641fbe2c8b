//! Recording what an indicator of a load showed, and what follows from a bad one.

use super::Load;
use super::add_sterilizer::find as sterilizer;
use super::reached::{Reached, reached};
use super::rows::{Asked, find, of};
use super::standing::{count, hold};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{indicators, sterilizers};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::loads::{
    AfterPositive, Biological, IndicatorKind, IndicatorResult, PositivePolicy, after_positive,
    suspect_loads,
};
use serde::Serialize;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Records what an indicator showed. A positive biological one holds every load back to the last
/// negative one, takes the sterilizer out of service, and names the cases reached, in one commit.
#[derive(Clone, Copy, Debug)]
pub struct RecordIndicator {
    /// The load.
    pub load: Uuid,
    /// Which.
    pub kind: IndicatorKind,
    /// What it showed.
    pub result: IndicatorResult,
    /// Whether it is the test that follows a positive one.
    pub repeat: bool,
}

/// A load with what follows from its indicator.
#[derive(Clone, Debug)]
pub struct IndicatorRecorded {
    /// The load.
    pub load: Load,
    /// What the sterilizer's policy makes of a positive one.
    pub follows: Option<AfterPositive>,
    /// The suspect loads, in the order they were run.
    pub suspects: Vec<Load>,
    /// The cases the suspect loads reached.
    pub reached: Vec<Reached>,
}

/// Why an indicator is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordIndicatorRefusal {
    /// There is no such load.
    #[error("there is no such load")]
    NoSuchLoad,
    /// Only a biological indicator is repeated, and only after a positive one.
    #[error("only a positive biological indicator is repeated")]
    NothingToRepeat,
}

#[derive(Serialize)]
struct Data<'a> {
    cases: BTreeSet<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    follows: Option<&'static str>,
    indicator: Uuid,
    kind: IndicatorKind,
    #[serde(skip_serializing_if = "Option::is_none")]
    policy: Option<PositivePolicy>,
    repeat: bool,
    result: IndicatorResult,
    suspects: &'a [Uuid],
}

impl Operation for RecordIndicator {
    type Permission = act::RecordIndicator;
    type Outcome = IndicatorRecorded;
    type Refusal = RecordIndicatorRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<IndicatorRecorded, Refused<RecordIndicatorRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(load) = find(writing.connection, self.load).await? else {
            return refuse(RecordIndicatorRefusal::NoSuchLoad);
        };
        let positive = load.biological() == Biological::Positive;
        if self.repeat && (self.kind != IndicatorKind::Biological || !positive) {
            return refuse(RecordIndicatorRefusal::NothingToRepeat);
        }
        let indicator = self.keep(writing).await?;
        count(writing, self.load).await?;
        if self.result == IndicatorResult::NotGood {
            let reason = format!("the {} indicator was not good", self.kind);
            hold(writing, &[self.load], &reason).await?;
        }
        let mut recorded = IndicatorRecorded {
            load: find(writing.connection, self.load)
                .await?
                .ok_or(StoreError::Unfit)?,
            follows: None,
            suspects: Vec::new(),
            reached: Vec::new(),
        };
        let mut policy = None;
        if recorded.load.biological() == Biological::Positive {
            policy = Some(self.after(writing, &mut recorded).await?);
        }
        let suspects: Vec<Uuid> = recorded.suspects.iter().map(|load| load.id).collect();
        let data = Data {
            cases: recorded
                .reached
                .iter()
                .map(|reached| reached.case)
                .collect(),
            follows: recorded.follows.map(AfterPositive::as_str),
            indicator,
            kind: self.kind,
            policy,
            repeat: self.repeat,
            result: self.result,
            suspects: &suspects,
        };
        writing.append("record_indicator", Subject::new("load", self.load), &data)?;
        Ok(recorded)
    }
}

impl RecordIndicator {
    async fn keep(&self, writing: &mut Writing<'_>) -> Result<Uuid, StoreError> {
        let id = writing.new_id();
        diesel::insert_into(indicators::table)
            .values((
                indicators::facility_id.eq(writing.facility.id),
                indicators::id.eq(id),
                indicators::load_id.eq(self.load),
                indicators::kind.eq(self.kind.as_str()),
                indicators::result.eq(self.result.as_str()),
                indicators::is_repeat.eq(self.repeat),
                indicators::actor.eq(writing.actor.to_string()),
                indicators::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        Ok(id)
    }

    /// Finds and holds the suspect loads, whatever the policy: it decides what follows, not whether
    /// the loads wait.
    async fn after(
        &self,
        writing: &mut Writing<'_>,
        recorded: &mut IndicatorRecorded,
    ) -> Result<PositivePolicy, StoreError> {
        let own = recorded.load.sterilizer.0;
        let sterilizer = sterilizer(writing, own).await?.ok_or(StoreError::Unfit)?;
        let all = of(writing.connection, Asked::OfSterilizer(own)).await?;
        let shown: Vec<Biological> = all.iter().map(Load::biological).collect();
        let place = all.iter().position(|load| load.id == self.load);
        let suspects = suspect_loads(&shown, place.ok_or(StoreError::Unfit)?);
        let ids: Vec<Uuid> = all
            .get(suspects)
            .unwrap_or_default()
            .iter()
            .map(|load| load.id)
            .collect();
        if self.result == IndicatorResult::Positive {
            let reason = format!("positive biological indicator in {}", recorded.load.name());
            hold(writing, &ids, &reason).await?;
            diesel::update(sterilizers::table.find(own))
                .set((
                    sterilizers::out_of_service_since.eq(writing.at.to_diesel()),
                    sterilizers::version.eq(sterilizers::version + 1),
                ))
                .execute(writing.connection)
                .await?;
        }
        let load = &recorded.load;
        let good = load.good(IndicatorKind::Mechanical) && load.good(IndicatorKind::Chemical);
        let policy = sterilizer.positive_policy;
        let implant = load.has_implant();
        recorded.follows = Some(after_positive(policy, implant, good, load.repeat()));
        recorded.reached = reached(writing.connection, &ids).await?;
        for id in ids {
            let load = find(writing.connection, id).await?;
            recorded.suspects.push(load.ok_or(StoreError::Unfit)?);
        }
        let own = recorded.suspects.iter().find(|load| load.id == self.load);
        if let Some(own) = own {
            recorded.load = own.clone();
        }
        Ok(policy)
    }
}
