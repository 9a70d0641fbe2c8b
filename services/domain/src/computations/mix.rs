//! Amounts and concentrations of a mix, of what was given of it, and what section 1.3 and the
//! identities have to say.

mod amounts;
mod checks;
mod input;
mod statement;

use std::collections::BTreeMap;

use jiff::civil::DateTime;
use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;

use super::fault::Faults;
use super::{Assumed, CAUTION, Figure};
use crate::mixes::{
    Amount, Mixture, Reference, STERILE_PRODUCT_LIMIT, VOLUME_TOLERANCE_ML, amounts_of,
    references_for,
};
use amounts::{Figures, merged};
use checks::Check;
use input::{Given, Input};

const FORMULA: &str = "mg = volume_ml * mg_per_ml; mg_per_ml = percent * 10, or 1000 / X for a ratio of 1:X; \
    totals.volume_ml = sum of volume_ml of every ingredient; mg_per_litre = totals.mg / totals.volume_ml * 1000; \
    given.mg = totals.mg * given volume / totals.volume_ml; mg = given.mg + given_separately.mg; mg_per_kg = mg / weight_kg; \
    mixed = given + wasted + left, within 5 mL; use_by = earlier of started_at + use_within_hours and the end of the earliest last day of an ingredient; \
    last day of a punctured vial = earlier of expires_on and punctured_on + in_use_days. Exact decimals, shown to six places";

const SOURCE: &str = "Arithmetic; strengths: drug label table of percentages and ratios. \
    Time, number of products, days of a vial: USP <797> sections 1.3 and 15.2 (from memory; the site confirms them), CDC's questions on multi-dose vials for the 28 days. \
    Volume tolerance: our own";

/// The answer. Amounts are keyed by substance.
#[derive(Debug, Serialize)]
pub struct Mix<'a> {
    totals: Totals,
    mg_per_litre: Figures,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    meq_per_litre: Figures,
    given: Option<GivenAmounts>,
    given_separately: Amounts,
    /// Whose amounts the next fields are: what was given, or the whole mix where nothing was said.
    amounts_of: &'static str,
    mg: Figures,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    meq: Figures,
    mg_per_kg: Figures,
    weight_kg: Figure,
    volumes: Option<Volumes>,
    use_by: Option<DateTime>,
    checks: Vec<Check>,
    not_computed: Vec<NotComputed>,
    references: Vec<Shown>,
    statements: Vec<String>,
    inputs: &'a Value,
    assumed: Vec<Assumed>,
    formula: &'static str,
    source: &'static str,
    caution: String,
}

#[derive(Debug, Serialize)]
struct Totals {
    volume_ml: Figure,
    #[serde(flatten)]
    amounts: Amounts,
}

/// Milligrams and milliequivalents by substance.
#[derive(Debug, Serialize)]
struct Amounts {
    mg: Figures,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    meq: Figures,
}

#[derive(Debug, Serialize)]
struct GivenAmounts {
    volume_ml: Figure,
    #[serde(flatten)]
    amounts: Amounts,
    by_zone: Vec<Zone>,
}

#[derive(Debug, Serialize)]
struct Zone {
    zone: String,
    volume_ml: Figure,
    #[serde(flatten)]
    amounts: Amounts,
}

#[derive(Debug, Serialize)]
struct Volumes {
    mixed_ml: Figure,
    given_ml: Figure,
    wasted_ml: Figure,
    left_ml: Figure,
    difference_ml: Figure,
    tolerance_ml: Figure,
    agrees: bool,
}

/// A part that cannot be computed, and the fields it needs.
#[derive(Debug, Serialize)]
struct NotComputed {
    field: &'static str,
    missing: Vec<&'static str>,
}

/// A published value beside the record.
#[derive(Debug, Serialize)]
struct Shown {
    substance: String,
    about: &'static str,
    mg_per_kg: Figure,
    /// The value at this weight.
    mg_at_weight: Figure,
    /// The value in milligrams that the source also names.
    mg: Option<Figure>,
    source: &'static str,
}

impl From<&BTreeMap<String, Amount>> for Amounts {
    fn from(amounts: &BTreeMap<String, Amount>) -> Self {
        Self {
            mg: amounts::figures(amounts, |each| each.mg),
            meq: amounts::figures(amounts, |each| each.meq),
        }
    }
}

/// Computes the mix.
pub fn compute(asked: &Value) -> Result<Mix<'_>, Faults> {
    let (input, mixture) = input::read(asked)?;
    let apart = amounts_of(&input::ingredients_of(&input.separately));
    let given = input
        .given
        .as_ref()
        .map(|given| given_amounts(&mixture, given));
    let of_mix = match &input.given {
        Some(given) => mixture.amounts_in(given.volume_ml()),
        None => mixture.amounts.clone(),
    };
    let recorded = merged(&of_mix, &apart);
    let per_litre = Amounts::from(&mixture.amounts_per_litre());
    let all = Amounts::from(&recorded);
    let weight = input.weight_kg;
    let references = shown(recorded.keys(), weight);
    let balance = input.balance(mixture.volume_ml);
    Ok(Mix {
        totals: Totals {
            volume_ml: mixture.volume_ml.into(),
            amounts: Amounts::from(&mixture.amounts),
        },
        mg_per_litre: per_litre.mg,
        meq_per_litre: per_litre.meq,
        given,
        given_separately: Amounts::from(&apart),
        amounts_of: if input.given.is_some() {
            "what was given"
        } else {
            "the whole mix and what was given separately; given is not entered"
        },
        mg: all.mg,
        meq: all.meq,
        mg_per_kg: amounts::figures(&recorded, |each| Some(each.mg? / weight)),
        weight_kg: weight.into(),
        volumes: balance.map(|all| Volumes {
            mixed_ml: all.mixed_ml.into(),
            given_ml: all.given_ml.into(),
            wasted_ml: all.wasted_ml.into(),
            left_ml: all.left_ml.into(),
            difference_ml: all.difference_ml().into(),
            tolerance_ml: VOLUME_TOLERANCE_ML.into(),
            agrees: all.agrees(VOLUME_TOLERANCE_ML),
        }),
        use_by: input.use_by(),
        checks: checks::of(&input, balance),
        not_computed: not_computed(&input),
        statements: statement::of(&recorded, weight, input.given.is_some()),
        references,
        assumed: assumed(&input),
        inputs: asked,
        formula: FORMULA,
        source: SOURCE,
        caution: format!(
            "{CAUTION} Published values are shown beside the record and are no verdict; no mix is made without the practitioner's signed order."
        ),
    })
}

fn given_amounts(mixture: &Mixture, given: &Given) -> GivenAmounts {
    let amounts = |volume| Amounts::from(&mixture.amounts_in(volume));
    GivenAmounts {
        volume_ml: given.volume_ml().into(),
        amounts: amounts(given.volume_ml()),
        by_zone: given
            .zones()
            .iter()
            .map(|(zone, volume)| Zone {
                zone: zone.clone(),
                volume_ml: (*volume).into(),
                amounts: amounts(*volume),
            })
            .collect(),
    }
}

fn shown<'a>(substances: impl Iterator<Item = &'a String>, weight: Decimal) -> Vec<Shown> {
    let show = |substance: &String, reference: &Reference| Shown {
        substance: substance.clone(),
        about: reference.about,
        mg_per_kg: reference.mg_per_kg.into(),
        mg_at_weight: reference.at(weight).into(),
        mg: reference.mg.map(Figure::from),
        source: reference.source,
    };
    substances
        .flat_map(|substance| references_for(substance).map(move |each| show(substance, each)))
        .collect()
}

fn not_computed(input: &Input) -> Vec<NotComputed> {
    let mut parts = Vec::new();
    if input.given.is_none() {
        parts.push(NotComputed {
            field: "given",
            missing: vec!["given_ml"],
        });
    }
    let rest = [
        ("given_ml", input.given.is_some()),
        ("wasted_ml", input.wasted_ml.is_some()),
        ("left_ml", input.left_ml.is_some()),
    ];
    let missing: Vec<_> = rest
        .into_iter()
        .filter(|(_, there)| !there)
        .map(|(name, _)| name)
        .collect();
    if !missing.is_empty() {
        parts.push(NotComputed {
            field: "volumes",
            missing,
        });
    }
    if input.started_at.is_none() {
        parts.push(NotComputed {
            field: "use_by",
            missing: vec!["started_at"],
        });
    }
    parts
}

fn assumed(input: &Input) -> Vec<Assumed> {
    let mut assumed = Vec::new();
    if input.use_within_hours.is_none() && input.started_at.is_some() {
        assumed.push(Assumed {
            field: "use_within_hours",
            value: input.hours().into(),
            source: "immediate use, USP <797> section 1.3 (from memory; the site's rule decides)",
        });
    }
    if input.sterile_product_limit.is_none() {
        assumed.push(Assumed {
            field: "sterile_product_limit",
            value: Decimal::from(STERILE_PRODUCT_LIMIT).into(),
            source: "immediate use, USP <797> section 1.3 (from memory; the site's rule decides)",
        });
    }
    assumed
}
