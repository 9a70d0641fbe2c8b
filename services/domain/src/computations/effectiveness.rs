//! How many effectiveness checks, how many to ask, and whether pieces are accounted for.

use rust_decimal::Decimal;
use serde::Serialize;
use serde_json::Value;

use super::fault::{FaultCode, Faults};
use super::fields::Fields;
use super::parse::{count, number, word};
use super::{CAUTION, Figure};
use crate::effectiveness::{Counts, Level, LevelChecks, finite_sample, zero_failure_sample};

const FORMULA: &str = "checks: A = consignees, B = more than 10 % and fewer than all, C = 10 % rounded up, D = 2 % rounded up, E = 0; \
    sample.asked = least n with (effective_percent / 100)^n <= 1 - confidence_percent / 100; \
    sample.asked_of_consignees = the same drawn from consignees of whom missed = consignees * (100 - effective_percent) / 100, rounded up, were missed (hypergeometric); \
    received = on_hand + quarantined + used + wasted + returned + destroyed + unaccounted";

const SOURCE: &str = "Levels: 21 CFR 7.42(b)(3)(i)-(v) (text from memory; confirm before relying on it). \
    Sample: zero-failure attribute sampling, our own method for checking our own notifications; it is not FDA's table of 1978. \
    Counts: identity";

/// The answer; a part that was not asked for is left out.
#[derive(Debug, Serialize)]
pub struct Effectiveness<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    consignees: Option<u64>,
    #[serde(skip_serializing_if = "Option::is_none")]
    levels: Option<Levels>,
    #[serde(skip_serializing_if = "Option::is_none")]
    level: Option<Level>,
    #[serde(skip_serializing_if = "Option::is_none")]
    checks: Option<Checks>,
    #[serde(skip_serializing_if = "Option::is_none")]
    sample: Option<Sample>,
    #[serde(skip_serializing_if = "Option::is_none")]
    counts: Option<Reconciliation>,
    inputs: &'a Value,
    formula: &'static str,
    source: &'static str,
    caution: String,
}

/// The checks of every level.
#[derive(Debug, Serialize)]
struct Levels {
    #[serde(rename = "A")]
    a: Checks,
    #[serde(rename = "B")]
    b: Checks,
    #[serde(rename = "C")]
    c: Checks,
    #[serde(rename = "D")]
    d: Checks,
    #[serde(rename = "E")]
    e: Checks,
}

#[derive(Debug, Serialize)]
#[serde(untagged)]
enum Checks {
    Exactly(u64),
    Between { least: u64, most: u64 },
}

#[derive(Debug, Serialize)]
struct Sample {
    confidence_percent: Figure,
    effective_percent: Figure,
    asked: u32,
    #[serde(skip_serializing_if = "Option::is_none")]
    missed: Option<u32>,
    #[serde(skip_serializing_if = "Option::is_none")]
    asked_of_consignees: Option<u32>,
}

#[derive(Debug, Serialize)]
struct Reconciliation {
    received: u64,
    accounted: u64,
    unaccounted: u64,
    too_many: u64,
    accounted_percent: Option<Figure>,
    closes: bool,
}

struct Input {
    consignees: Option<u32>,
    level: Option<Level>,
    level_b_percent: Option<Decimal>,
    sample: Option<(Decimal, Decimal)>,
    counts: Option<(u64, Counts)>,
}

/// Computes what was asked for.
pub fn compute(asked: &Value) -> Result<Effectiveness<'_>, Faults> {
    let input = read(asked)?;
    let checks_of = |level: Level, consignees: u32| match (level, input.level_b_percent) {
        (Level::B, Some(percent)) => Checks::Exactly(share(consignees, percent)),
        _ => level.checks(consignees.into()).into(),
    };
    Ok(Effectiveness {
        consignees: input.consignees.map(u64::from),
        levels: input.consignees.map(|consignees| Levels {
            a: checks_of(Level::A, consignees),
            b: checks_of(Level::B, consignees),
            c: checks_of(Level::C, consignees),
            d: checks_of(Level::D, consignees),
            e: checks_of(Level::E, consignees),
        }),
        level: input.level,
        checks: input
            .level
            .zip(input.consignees)
            .map(|(level, of)| checks_of(level, of)),
        sample: sample(&input),
        counts: input.counts.map(|(received, counts)| {
            let all = counts.reconcile(received);
            Reconciliation {
                received,
                accounted: all.accounted,
                unaccounted: all.unaccounted(),
                too_many: all.too_many(),
                accounted_percent: all.percent().map(Figure::from),
                closes: all.closes(),
            }
        }),
        inputs: asked,
        formula: FORMULA,
        source: SOURCE,
        caution: format!(
            "{CAUTION} The recalling firm's strategy and the notice say which level applies; counts that do not close need a signed explanation."
        ),
    })
}

fn sample(input: &Input) -> Option<Sample> {
    let (confidence, effective) = input.sample?;
    let missed_share = Decimal::ONE_HUNDRED - effective;
    let missed = input
        .consignees
        .and_then(|consignees| u32::try_from(share(consignees, missed_share)).ok());
    Some(Sample {
        confidence_percent: confidence.into(),
        effective_percent: effective.into(),
        asked: zero_failure_sample(confidence, effective)?,
        missed,
        asked_of_consignees: input
            .consignees
            .zip(missed)
            .and_then(|(consignees, missed)| finite_sample(confidence, consignees, missed)),
    })
}

/// A percentage of so many, rounded up.
fn share(of: u32, percent: Decimal) -> u64 {
    let share = (Decimal::from(of) * percent / Decimal::ONE_HUNDRED).ceil();
    u64::try_from(share).unwrap_or(u64::from(of))
}

impl From<LevelChecks> for Checks {
    fn from(checks: LevelChecks) -> Self {
        match checks {
            LevelChecks::Exactly(checks) => Self::Exactly(checks),
            LevelChecks::Between(least, most) => Self::Between { least, most },
        }
    }
}

const COUNTS: [&str; 7] = [
    "received",
    "on_hand",
    "quarantined",
    "used",
    "wasted",
    "returned",
    "destroyed",
];

fn read(asked: &Value) -> Result<Input, Faults> {
    let mut fields = Fields::of(asked, "")?;
    let consignees = fields
        .optional("consignees", count(1, 10_000_000))
        .and_then(|consignees| u32::try_from(consignees).ok());
    let level = fields.optional("level", word::<Level>);
    let level_b_percent = fields.optional("level_b_percent", number("10.000001", "99.999999"));
    let wants_sample = fields.has("confidence_percent") || fields.has("effective_percent");
    let wants_counts = COUNTS.iter().any(|name| fields.has(name));
    if !fields.has("consignees") && (fields.has("level") || !(wants_sample || wants_counts)) {
        fields.fault(
            FaultCode::Missing,
            "consignees",
            "is missing; it is never taken as zero",
        );
    }
    if level_b_percent.is_some() && level != Some(Level::B) {
        fields.fault(
            FaultCode::Conflict,
            "level_b_percent",
            "goes with level B alone",
        );
    }
    let percent = number("0.0001", "99.99");
    let (confidence, effective) = if wants_sample {
        (
            fields.needed("confidence_percent", &percent),
            fields.needed("effective_percent", &percent),
        )
    } else {
        (
            fields.optional("confidence_percent", &percent),
            fields.optional("effective_percent", &percent),
        )
    };
    let counts = read_counts(&mut fields, wants_counts);
    fields.finish(Some(Input {
        consignees,
        level,
        level_b_percent,
        sample: confidence.zip(effective),
        counts,
    }))
}

/// All seven counts where one is given: what is not there is not zero.
fn read_counts(fields: &mut Fields<'_>, wanted: bool) -> Option<(u64, Counts)> {
    let pieces = count(0, 1_000_000_000);
    let read = COUNTS.map(|name| match (wanted, name) {
        (true, "received") => fields.needed(name, count(1, 1_000_000_000)),
        (true, _) => fields.needed(name, &pieces),
        (false, _) => fields.optional(name, &pieces),
    });
    let [
        received,
        on_hand,
        quarantined,
        used,
        wasted,
        returned,
        destroyed,
    ] = read;
    Some((
        received?,
        Counts {
            on_hand: on_hand?,
            quarantined: quarantined?,
            used: used?,
            wasted: wasted?,
            returned: returned?,
            destroyed: destroyed?,
        },
    ))
}
