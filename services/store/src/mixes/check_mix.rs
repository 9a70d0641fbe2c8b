//! Checking a mix.

use super::bars::{Piece, judge};
use super::make_mix::verdict;
use super::rows::{Asked, of};
use super::{Judged, Mix};
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::mixes;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::rules::Finding;
use serde::Serialize;
use uuid::Uuid;

/// Puts on record that a second person checked a mix against its order and read it back.
#[derive(Clone, Copy, Debug)]
pub struct CheckMix {
    /// The mix.
    pub mix: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

/// Why a mix is not checked.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CheckMixRefusal {
    /// There is no such mix.
    #[error("there is no such mix")]
    NoSuchMix,
    /// It changed since the caller read it.
    #[error("the mix changed since it was read")]
    Stale,
    /// It is not made yet.
    #[error("the mix is not made yet")]
    NotMade,
    /// It is checked already.
    #[error("the mix is checked already")]
    CheckedAlready,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// Whoever made it does not check it.
    #[error("the check is another person's than the making")]
    SamePerson,
}

#[derive(Serialize)]
struct Data {
    findings: Vec<&'static str>,
    verdict: Verdict,
}

impl Operation for CheckMix {
    type Permission = act::CheckMix;
    type Outcome = Judged;
    type Refusal = CheckMixRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Judged, Refused<CheckMixRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mix) = of(writing.connection, Asked::One(self.mix)).await?.pop() else {
            return refuse(CheckMixRefusal::NoSuchMix);
        };
        let Some(made) = &mix.made else {
            return refuse(CheckMixRefusal::NotMade);
        };
        if mix.checked.is_some() {
            return refuse(CheckMixRefusal::CheckedAlready);
        }
        if mix.version != self.version {
            return refuse(CheckMixRefusal::Stale);
        }
        let person = match *writing.actor {
            Actor::Person(person) if person != made.step.person => person,
            _ => return refuse(CheckMixRefusal::SamePerson),
        };
        add_to::<CheckMixRefusal>(writing, mix.case).await?;
        let findings = findings(writing, &mix).await?;
        if findings.is_empty() {
            diesel::update(mixes::table.find(mix.id))
                .set((
                    mixes::checked_by.eq(person),
                    mixes::checked_at.eq(writing.at.to_diesel()),
                    mixes::version.eq(mixes::version + 1),
                ))
                .execute(writing.connection)
                .await?;
        }
        let data = Data {
            findings: findings
                .iter()
                .map(|finding| finding.slug.as_str())
                .collect(),
            verdict: verdict(&findings),
        };
        let subject = Subject::of_case("mix", mix.id, mix.case);
        writing.append("check_mix", subject, &data)?;
        let mix = of(writing.connection, Asked::One(self.mix)).await?.pop();
        let mix = mix.ok_or(StoreError::Unfit)?;
        Ok(Judged { mix, findings })
    }
}

/// What the rules say now about a mix that was made.
pub(super) async fn findings(
    writing: &mut Writing<'_>,
    mix: &Mix,
) -> Result<Vec<Finding>, StoreError> {
    let made = mix.made.as_ref().ok_or(StoreError::Unfit)?;
    let pieces = mix.ingredients.iter().map(|ingredient| Piece {
        product: ingredient.product.0,
        lot: ingredient.lot.0,
        unit: ingredient.unit,
    });
    let pieces: Vec<Piece> = pieces.collect();
    judge(writing, &pieces, made.use_by, &mix.use_by_source).await
}
