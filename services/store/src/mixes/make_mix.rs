//! Making a mix from scanned lots.

use super::bars::{Piece, judge};
use super::rows::{Asked, of};
use super::{Judged, SubstanceStrength};
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::moment::{date, instant_text};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{lots, mix_ingredients, mixes, uses};
use crate::vials::{self, Vial};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::cases::{Disposition, Verdict};
use lotwarden_domain::mixes::{VialDays, last_day_of_vial, start_within, use_by};
use lotwarden_domain::rules::Finding;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// An ingredient that was scanned on the case.
#[derive(Clone, Debug)]
pub struct NewIngredient {
    /// The scan.
    pub scan: Uuid,
    /// How much of it went in.
    pub volume_ml: Decimal,
    /// What is in it; none for a diluent.
    pub strengths: Vec<SubstanceStrength>,
    /// The multi-dose vial it was drawn from, whose last day counts.
    pub vial: Option<Uuid>,
    /// The first puncture of a vial that is not on record.
    pub punctured_on: Option<Date>,
    /// The maker's days in use, which take the place of the 28.
    pub in_use_days: Option<u16>,
}

/// Puts on record that an ordered mix was made.
#[derive(Clone, Debug)]
pub struct MakeMix {
    /// The mix.
    pub mix: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// When preparation started.
    pub started_at: Timestamp,
    /// What went in, in the order it did.
    pub ingredients: Vec<NewIngredient>,
}

/// Why a mix is not put on record as made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MakeMixRefusal {
    /// There is no such mix.
    #[error("there is no such mix")]
    NoSuchMix,
    /// It changed since the caller read it.
    #[error("the mix changed since it was read")]
    Stale,
    /// It is made already.
    #[error("the mix is made already")]
    MadeAlready,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// The scan put nothing on the case that stands.
    #[error("no item of this scan is on the case; scan the container there first")]
    NotOnCase {
        /// The ingredient.
        line: usize,
    },
    /// There is no such vial, or it was discarded.
    #[error("no vial of this id is open, or it is not of the scanned lot")]
    NoSuchVial {
        /// The ingredient.
        line: usize,
    },
    /// The vial holds less.
    #[error("the vial holds less than that by its record")]
    VialShort {
        /// The ingredient.
        line: usize,
    },
    /// Preparation did not start between order and now.
    #[error("must lie between the order and now")]
    StartOutOfRange,
    /// Nobody is signed in who could make it.
    #[error("only a person can make a mix")]
    NotAPerson,
}

#[derive(Serialize)]
struct Data<'a> {
    findings: Vec<&'static str>,
    ingredients: &'a [Line],
    started_at: String,
    use_by: String,
    verdict: Verdict,
}

#[derive(Serialize)]
struct Line {
    #[serde(skip_serializing_if = "Option::is_none")]
    last_day: Option<Date>,
    lot: Uuid,
    product: Uuid,
    scan: Uuid,
    strengths: Vec<SubstanceStrength>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    vial: Option<Uuid>,
    volume_ml: Decimal,
}

impl Operation for MakeMix {
    type Permission = act::MakeMix;
    type Outcome = Judged;
    type Refusal = MakeMixRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Judged, Refused<MakeMixRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Actor::Person(person) = *writing.actor else {
            return refuse(MakeMixRefusal::NotAPerson);
        };
        let Some(mix) = of(writing.connection, Asked::One(self.mix)).await?.pop() else {
            return refuse(MakeMixRefusal::NoSuchMix);
        };
        if mix.made.is_some() {
            return refuse(MakeMixRefusal::MadeAlready);
        }
        if mix.version != self.version {
            return refuse(MakeMixRefusal::Stale);
        }
        if self.started_at < mix.ordered.at || self.started_at > writing.at {
            return refuse(MakeMixRefusal::StartOutOfRange);
        }
        add_to::<MakeMixRefusal>(writing, mix.case).await?;
        let lines = self.lines(writing, mix.case).await?;
        let minutes = SignedDuration::from_mins(mix.use_within_minutes.into());
        let until = self.use_by(writing, &lines, minutes)?;
        let pieces: Vec<Piece> = lines.iter().map(Line::piece).collect();
        let findings = judge(writing, &pieces, until, &mix.use_by_source).await?;
        if findings.is_empty() {
            self.keep(writing, person, until, &lines).await?;
        }
        let data = Data {
            findings: findings
                .iter()
                .map(|finding| finding.slug.as_str())
                .collect(),
            ingredients: &lines,
            started_at: instant_text(self.started_at),
            use_by: instant_text(until),
            verdict: verdict(&findings),
        };
        let subject = Subject::of_case("mix", mix.id, mix.case);
        writing.append("make_mix", subject, &data)?;
        let mix = of(writing.connection, Asked::One(self.mix)).await?.pop();
        let mix = mix.ok_or(StoreError::Unfit)?;
        Ok(Judged { mix, findings })
    }
}

/// Stop when a rule speaks, else taken: a mix knows nothing between.
pub(super) fn verdict(findings: &[Finding]) -> Verdict {
    if findings.is_empty() {
        Verdict::Taken
    } else {
        Verdict::Stop
    }
}

impl Line {
    fn piece(&self) -> Piece {
        Piece {
            product: self.product,
            lot: self.lot,
            unit: self.unit,
        }
    }
}

impl MakeMix {
    /// The ingredients with the lots their scans put on the case.
    async fn lines(
        &self,
        writing: &mut Writing<'_>,
        case: Uuid,
    ) -> Result<Vec<Line>, Refused<MakeMixRefusal>> {
        type Row = (Uuid, Uuid, Uuid, Option<Uuid>, jiff_diesel::NullableDate);
        let scans: Vec<Uuid> = self.ingredients.iter().map(|each| each.scan).collect();
        let rows: Vec<Row> = uses::table
            .inner_join(lots::table.on(lots::id.eq(uses::lot_id)))
            .filter(uses::case_id.eq(case))
            .filter(uses::scan_id.eq_any(scans))
            .filter(uses::struck_at.is_null())
            .filter(uses::disposition.ne(Disposition::Returned.as_str()))
            .select((
                uses::scan_id,
                uses::product_id,
                uses::lot_id,
                uses::unit_id,
                lots::expires_on,
            ))
            .load(writing.connection)
            .await?;
        let vials = self.vials(writing).await?;
        let line = |(line, new): (usize, &NewIngredient)| {
            let row = rows.iter().find(|row| row.0 == new.scan);
            let row = row.ok_or(Refused::Because(MakeMixRefusal::NotOnCase { line }))?;
            let last_day = last_day_of_vial(VialDays {
                expires_on: row.4.to_jiff(),
                punctured_on: new.punctured_on,
                in_use_days: new.in_use_days,
            });
            let vial = match new.vial {
                None => None,
                Some(id) => {
                    let own = |vial: &&Vial| {
                        let same = vial.lot.0 == row.2 && (row.3.is_none() || vial.unit == row.3);
                        vial.id == id && same && vial.discarded.is_none()
                    };
                    let vial = vials.iter().find(own);
                    Some(vial.ok_or(Refused::Because(MakeMixRefusal::NoSuchVial { line }))?)
                }
            };
            if vial.is_some_and(|vial| self.drawn(vial.id, line) > vial.left_ml()) {
                return Err(Refused::Because(MakeMixRefusal::VialShort { line }));
            }
            let ends = vial.map(|vial| vial.last_day);
            Ok(Line {
                last_day: last_day.into_iter().chain(ends).min(),
                lot: row.2,
                product: row.1,
                scan: new.scan,
                strengths: new.strengths.clone(),
                unit: row.3,
                vial: new.vial,
                volume_ml: new.volume_ml,
            })
        };
        self.ingredients.iter().enumerate().map(line).collect()
    }

    /// The vials that are named.
    async fn vials(&self, writing: &mut Writing<'_>) -> Result<Vec<Vial>, StoreError> {
        let mut found = Vec::new();
        for id in self.ingredients.iter().filter_map(|each| each.vial) {
            found.extend(vials::of(writing.connection, vials::Asked::One(id)).await?);
        }
        Ok(found)
    }

    /// What all ingredients up to one draw from a vial.
    fn drawn(&self, vial: Uuid, line: usize) -> Decimal {
        let own = self.ingredients.iter().take(line + 1);
        own.filter(|each| each.vial == Some(vial))
            .map(|each| each.volume_ml)
            .sum()
    }

    fn use_by(
        &self,
        writing: &Writing<'_>,
        lines: &[Line],
        within: SignedDuration,
    ) -> Result<Timestamp, StoreError> {
        let zone = &writing.facility.zone;
        let started = self.started_at.to_zoned(zone.clone()).datetime();
        let latest = start_within(started, within);
        let until = use_by(latest, lines.iter().filter_map(|line| line.last_day));
        let until = until.to_zoned(zone.clone());
        Ok(until.map_err(|_| StoreError::Unfit)?.timestamp())
    }

    async fn keep(
        &self,
        writing: &mut Writing<'_>,
        person: Uuid,
        until: Timestamp,
        lines: &[Line],
    ) -> Result<(), StoreError> {
        diesel::update(mixes::table.find(self.mix))
            .set((
                mixes::made_by.eq(person),
                mixes::started_at.eq(self.started_at.to_diesel()),
                mixes::made_at.eq(writing.at.to_diesel()),
                mixes::use_by.eq(until.to_diesel()),
                mixes::version.eq(mixes::version + 1),
            ))
            .execute(writing.connection)
            .await?;
        for (number, line) in (1..).zip(lines) {
            let strengths = serde_json::to_value(&line.strengths).map_err(|_| StoreError::Unfit)?;
            diesel::insert_into(mix_ingredients::table)
                .values((
                    mix_ingredients::facility_id.eq(writing.facility.id),
                    mix_ingredients::mix_id.eq(self.mix),
                    mix_ingredients::line.eq(number),
                    mix_ingredients::scan_id.eq(line.scan),
                    mix_ingredients::product_id.eq(line.product),
                    mix_ingredients::lot_id.eq(line.lot),
                    mix_ingredients::unit_id.eq(line.unit),
                    mix_ingredients::volume_ml.eq(line.volume_ml),
                    mix_ingredients::last_day.eq(date(line.last_day)),
                    mix_ingredients::strengths.eq(strengths),
                ))
                .execute(writing.connection)
                .await?;
            if let Some(vial) = line.vial {
                vials::draw(writing, vial, self.mix, line.volume_ml).await?;
            }
        }
        Ok(())
    }
}
