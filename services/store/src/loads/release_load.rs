//! Releasing a load.

use super::Load;
use super::rows::find;
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::loads;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::loads::{Biological, IndicatorKind};
use serde::Serialize;
use uuid::Uuid;

/// Releases a load whose indicators allow it.
#[derive(Clone, Copy, Debug)]
pub struct ReleaseLoad {
    /// The load.
    pub load: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

/// Why a load is not released.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ReleaseLoadRefusal {
    /// There is no such load.
    #[error("there is no such load")]
    NoSuchLoad,
    /// It changed since the caller read it.
    #[error("the load changed since it was read")]
    Stale,
    /// It is released already.
    #[error("the load is released already")]
    ReleasedAlready,
    /// It is held.
    #[error("the load is held")]
    Held,
    /// The monitor's print or the chemical indicator is not on record as good.
    #[error("the {0} indicator is not on record as good")]
    NotGood(IndicatorKind),
    /// A load with an implant waits for its biological indicator.
    #[error("a load with an implant waits for its negative biological indicator")]
    ImplantWaits,
}

#[derive(Serialize)]
struct Data {
    version: i32,
}

impl Operation for ReleaseLoad {
    type Permission = act::ReleaseLoad;
    type Outcome = Load;
    type Refusal = ReleaseLoadRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Load, Refused<ReleaseLoadRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(load) = find(writing.connection, self.load).await? else {
            return refuse(ReleaseLoadRefusal::NoSuchLoad);
        };
        if load.released.is_some() {
            return refuse(ReleaseLoadRefusal::ReleasedAlready);
        }
        if load.version != self.version {
            return refuse(ReleaseLoadRefusal::Stale);
        }
        if load.held.is_some() {
            return refuse(ReleaseLoadRefusal::Held);
        }
        for kind in [IndicatorKind::Mechanical, IndicatorKind::Chemical] {
            if !load.good(kind) {
                return refuse(ReleaseLoadRefusal::NotGood(kind));
            }
        }
        if load.has_implant() && load.biological() != Biological::Negative {
            return refuse(ReleaseLoadRefusal::ImplantWaits);
        }
        diesel::update(loads::table.find(self.load))
            .set((
                loads::released_by.eq(writing.actor.to_string()),
                loads::released_at.eq(writing.at.to_diesel()),
                loads::version.eq(loads::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            version: load.version + 1,
        };
        writing.append("release_load", Subject::new("load", self.load), &data)?;
        let load = find(writing.connection, self.load).await?;
        Ok(load.ok_or(StoreError::Unfit)?)
    }
}
