//! Giving a volume of a mix.

use super::Judged;
use super::check_mix::findings;
use super::make_mix::verdict;
use super::rows::{Asked, of};
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{mix_doses, mixes};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Verdict;
use lotwarden_domain::mixes::VOLUME_TOLERANCE_ML;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Puts on record that a volume of a mix is given in a zone; a stopped one is on record as asked
/// for and not given.
#[derive(Clone, Debug)]
pub struct GiveDose {
    /// The mix.
    pub mix: Uuid,
    /// The zone, by the site's own list: 1 to 100 characters.
    pub zone: String,
    /// The volume.
    pub volume_ml: Decimal,
}

/// Why a volume is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum GiveDoseRefusal {
    /// There is no such mix.
    #[error("there is no such mix")]
    NoSuchMix,
    /// Nobody checked it.
    #[error("the mix was not checked by a second person yet")]
    NotChecked,
    /// The rest is accounted for.
    #[error("the mix is closed")]
    Closed,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// More than was mixed.
    #[error("is more than is left of what was mixed")]
    MoreThanLeft,
}

#[derive(Serialize)]
struct Data<'a> {
    findings: Vec<&'static str>,
    mix: Uuid,
    verdict: Verdict,
    volume_ml: Decimal,
    zone: &'a str,
}

impl Operation for GiveDose {
    type Permission = act::GiveDose;
    type Outcome = Judged;
    type Refusal = GiveDoseRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Judged, Refused<GiveDoseRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(mix) = of(writing.connection, Asked::One(self.mix)).await?.pop() else {
            return refuse(GiveDoseRefusal::NoSuchMix);
        };
        let (Some(mixture), true) = (mix.mixture(), mix.checked.is_some()) else {
            return refuse(GiveDoseRefusal::NotChecked);
        };
        if mix.closed.is_some() {
            return refuse(GiveDoseRefusal::Closed);
        }
        if mix.given_ml() + self.volume_ml > mixture.volume_ml + VOLUME_TOLERANCE_ML {
            return refuse(GiveDoseRefusal::MoreThanLeft);
        }
        add_to::<GiveDoseRefusal>(writing, mix.case).await?;
        let findings = findings(writing, &mix).await?;
        let verdict = verdict(&findings);
        let id = writing.new_id();
        let kept = serde_json::to_value(&findings).map_err(|_| StoreError::Unfit)?;
        diesel::insert_into(mix_doses::table)
            .values((
                mix_doses::facility_id.eq(writing.facility.id),
                mix_doses::id.eq(id),
                mix_doses::mix_id.eq(mix.id),
                mix_doses::zone.eq(&self.zone),
                mix_doses::volume_ml.eq(self.volume_ml),
                mix_doses::verdict.eq(verdict.as_str()),
                mix_doses::findings.eq(kept),
                mix_doses::actor.eq(writing.actor.to_string()),
                mix_doses::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        diesel::update(mixes::table.find(mix.id))
            .set(mixes::version.eq(mixes::version + 1))
            .execute(writing.connection)
            .await?;
        let data = Data {
            findings: findings
                .iter()
                .map(|finding| finding.slug.as_str())
                .collect(),
            mix: mix.id,
            verdict,
            volume_ml: self.volume_ml,
            zone: &self.zone,
        };
        writing.append("give_dose", Subject::of_case("dose", id, mix.case), &data)?;
        let mix = of(writing.connection, Asked::One(self.mix)).await?.pop();
        let mix = mix.ok_or(StoreError::Unfit)?;
        Ok(Judged { mix, findings })
    }
}
