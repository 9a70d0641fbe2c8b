//! Until when the record of a case is kept.

use jiff::civil::Date;
use serde::Serialize;
use serde_json::Value;

use super::CAUTION;
use super::fault::Faults;
use super::fields::Fields;
use super::parse::{count, day, flag};
use crate::retention::{Facts, Rule, kept_until};

const FORMULA: &str = "retain_until = latest of: case_on + state_medical_record_years; \
    later of case_on and last_in_effect_on + 6 years; device_event_on + 2 years; tracked_device_life_until; legal_hold_until. \
    A year from 29 February ends on 28 February";

/// The answer.
#[derive(Debug, Serialize)]
pub struct Retention<'a> {
    /// The last day of keeping; null while a legal hold without an end stands.
    retain_until: Option<Date>,
    /// The last day by the dates alone.
    retain_at_least_until: Date,
    /// Whether a legal hold without an end stands.
    legal_hold: bool,
    /// The rule that gave the latest day.
    decided_by: Rule,
    rules: Vec<Applied>,
    inputs: &'a Value,
    formula: &'static str,
    source: String,
    caution: String,
}

#[derive(Debug, Serialize)]
struct Applied {
    rule: Rule,
    until: Date,
    source: &'static str,
}

/// Computes the date.
pub fn compute(asked: &Value) -> Result<Retention<'_>, Faults> {
    let (facts, legal_hold) = read(asked)?;
    let rules: Vec<_> = kept_until(&facts)
        .into_iter()
        .map(|(rule, until)| Applied {
            rule,
            until,
            source: rule.source(),
        })
        .collect();
    // Of equal days the first rule is named.
    let latest = rules
        .iter()
        .fold((Rule::StateMedicalRecord, facts.case_on), |latest, each| {
            if each.until > latest.1 {
                (each.rule, each.until)
            } else {
                latest
            }
        });
    let sources: Vec<_> = rules.iter().map(|each| each.source).collect();
    Ok(Retention {
        retain_until: (!legal_hold).then_some(latest.1),
        retain_at_least_until: latest.1,
        legal_hold,
        decided_by: if legal_hold {
            Rule::LegalHold
        } else {
            latest.0
        },
        source: sources.join("; "),
        rules,
        inputs: asked,
        formula: FORMULA,
        caution: format!(
            "{CAUTION} State rules, contracts and orders can ask for longer; the facility confirms the years."
        ),
    })
}

fn read(asked: &Value) -> Result<(Facts, bool), Faults> {
    let mut fields = Fields::of(asked, "")?;
    let case_on = fields.needed("case_on", super::parse::day_between(1950, 2199));
    let years = fields.needed("state_medical_record_years", count(1, 100));
    let last_in_effect_on = fields.optional("last_in_effect_on", day);
    let device_event_on = fields.optional("device_event_on", day);
    let tracked_device_life_until = fields.optional("tracked_device_life_until", day);
    let legal_hold_until = fields.optional("legal_hold_until", day);
    let legal_hold = fields.optional("legal_hold", flag).unwrap_or(false);
    let facts = || {
        Some(Facts {
            case_on: case_on?,
            state_medical_record_years: Some(u16::try_from(years?).ok()?),
            last_in_effect_on,
            device_event_on,
            tracked_device_life_until,
            legal_hold_until,
        })
    };
    let facts = facts();
    fields.finish(facts.map(|facts| (facts, legal_hold)))
}
