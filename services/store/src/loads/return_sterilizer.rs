//! Returning a sterilizer to service.

use super::Load;
use super::add_sterilizer::{Sterilizer, find};
use super::rows::{Asked, of};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::sterilizers;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::loads::Biological;
use serde::Serialize;
use uuid::Uuid;

/// Empty cycles in a row with a negative biological indicator that return a sterilizer to service
/// (CDC Guideline for Disinfection and Sterilization, 2008, updated 2019; positive spore tests).
const EMPTY_CYCLES: usize = 3;

/// Returns a sterilizer to service after its newest three cycles were empty and negative.
#[derive(Clone, Copy, Debug)]
pub struct ReturnSterilizer {
    /// The sterilizer.
    pub sterilizer: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

/// Why a sterilizer is not returned.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ReturnSterilizerRefusal {
    /// There is no such sterilizer.
    #[error("there is no such sterilizer")]
    NoSuchSterilizer,
    /// It changed since the caller read it.
    #[error("the sterilizer changed since it was read")]
    Stale,
    /// It is in service.
    #[error("the sterilizer is in service")]
    InService,
    /// The cycles are missing.
    #[error(
        "three empty cycles in a row with a negative biological indicator have to follow the \
         positive one"
    )]
    CyclesMissing,
}

#[derive(Serialize)]
struct Data {
    cycles: Vec<Uuid>,
}

impl Operation for ReturnSterilizer {
    type Permission = act::ReturnSterilizer;
    type Outcome = Sterilizer;
    type Refusal = ReturnSterilizerRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Sterilizer, Refused<ReturnSterilizerRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mut sterilizer) = find(writing, self.sterilizer).await? else {
            return refuse(ReturnSterilizerRefusal::NoSuchSterilizer);
        };
        let Some(since) = sterilizer.out_of_service_since else {
            return refuse(ReturnSterilizerRefusal::InService);
        };
        if sterilizer.version != self.version {
            return refuse(ReturnSterilizerRefusal::Stale);
        }
        let all = of(writing.connection, Asked::OfSterilizer(self.sterilizer)).await?;
        let newest: Vec<&Load> = all.iter().rev().take(EMPTY_CYCLES).collect();
        let cleared = |load: &&&Load| {
            load.packs.is_empty()
                && load.biological() == Biological::Negative
                && load.started_at > since
        };
        if newest.iter().filter(cleared).count() < EMPTY_CYCLES {
            return refuse(ReturnSterilizerRefusal::CyclesMissing);
        }
        diesel::update(sterilizers::table.find(self.sterilizer))
            .set((
                sterilizers::out_of_service_since.eq(None::<jiff_diesel::Timestamp>),
                sterilizers::version.eq(sterilizers::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            cycles: newest.iter().map(|load| load.id).collect(),
        };
        let subject = Subject::new("sterilizer", self.sterilizer);
        writing.append("return_sterilizer", subject, &data)?;
        sterilizer.out_of_service_since = None;
        sterilizer.version += 1;
        Ok(sterilizer)
    }
}
