//! Accounting for the rest of a mix.

use super::Mix;
use super::rows::{Asked, of};
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::mixes;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::mixes::{VOLUME_TOLERANCE_ML, VolumeBalance};
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Says what became of the rest of a mix: mixed = given + discarded + left.
#[derive(Clone, Debug)]
pub struct CloseMix {
    /// The mix.
    pub mix: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Discarded.
    pub discarded_ml: Decimal,
    /// Left in the container.
    pub left_ml: Decimal,
    /// Why the volumes do not add up: 3 to 500 characters, never a patient's identity.
    pub explanation: Option<String>,
}

/// Why a mix is not closed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CloseMixRefusal {
    /// There is no such mix.
    #[error("there is no such mix")]
    NoSuchMix,
    /// It changed since the caller read it.
    #[error("the mix changed since it was read")]
    Stale,
    /// It is not made yet.
    #[error("the mix is not made yet")]
    NotMade,
    /// It is closed already.
    #[error("the mix is closed already")]
    ClosedAlready,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// The volumes do not add up and nobody says why.
    #[error("{difference_ml} mL of what was mixed are not accounted for; say why")]
    NotExplained {
        /// Mixed less given, discarded and left.
        difference_ml: Decimal,
    },
}

#[derive(Serialize)]
struct Data<'a> {
    difference_ml: Decimal,
    discarded_ml: Decimal,
    #[serde(skip_serializing_if = "Option::is_none")]
    explanation: Option<&'a str>,
    given_ml: Decimal,
    left_ml: Decimal,
    mixed_ml: Decimal,
}

impl Operation for CloseMix {
    type Permission = act::CloseMix;
    type Outcome = Mix;
    type Refusal = CloseMixRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Mix, Refused<CloseMixRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mix) = of(writing.connection, Asked::One(self.mix)).await?.pop() else {
            return refuse(CloseMixRefusal::NoSuchMix);
        };
        let Some(mixture) = mix.mixture() else {
            return refuse(CloseMixRefusal::NotMade);
        };
        if mix.closed.is_some() {
            return refuse(CloseMixRefusal::ClosedAlready);
        }
        if mix.version != self.version {
            return refuse(CloseMixRefusal::Stale);
        }
        let balance = VolumeBalance {
            mixed_ml: mixture.volume_ml,
            given_ml: mix.given_ml(),
            wasted_ml: self.discarded_ml,
            left_ml: self.left_ml,
        };
        let difference_ml = balance.difference_ml();
        if !balance.agrees(VOLUME_TOLERANCE_ML) && self.explanation.is_none() {
            return refuse(CloseMixRefusal::NotExplained { difference_ml });
        }
        add_to::<CloseMixRefusal>(writing, mix.case).await?;
        diesel::update(mixes::table.find(mix.id))
            .set((
                mixes::discarded_ml.eq(self.discarded_ml),
                mixes::left_ml.eq(self.left_ml),
                mixes::explanation.eq(&self.explanation),
                mixes::closed_by.eq(writing.actor.to_string()),
                mixes::closed_at.eq(writing.at.to_diesel()),
                mixes::version.eq(mixes::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            difference_ml,
            discarded_ml: self.discarded_ml,
            explanation: self.explanation.as_deref(),
            given_ml: balance.given_ml,
            left_ml: self.left_ml,
            mixed_ml: balance.mixed_ml,
        };
        let subject = Subject::of_case("mix", mix.id, mix.case);
        writing.append("close_mix", subject, &data)?;
        let mix = of(writing.connection, Asked::One(self.mix)).await?.pop();
        Ok(mix.ok_or(StoreError::Unfit)?)
    }
}
