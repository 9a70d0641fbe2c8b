//! The sentence that stands beside a recorded amount. It shows; it never advises.

use std::collections::BTreeMap;

use rust_decimal::{Decimal, RoundingStrategy};

use crate::computations::CAUTION;
use crate::mixes::{Amount, Reference, references_for};

/// One sentence for each substance that has a weight.
pub fn of(recorded: &BTreeMap<String, Amount>, weight_kg: Decimal, given: bool) -> Vec<String> {
    recorded
        .iter()
        .filter_map(|(substance, amount)| Some(sentence(substance, amount.mg?, weight_kg, given)))
        .collect()
}

fn sentence(substance: &str, mg: Decimal, weight_kg: Decimal, given: bool) -> String {
    let what = if given {
        "recorded so far"
    } else {
        "in the whole mix and given separately"
    };
    let per_kg = mg / weight_kg;
    let published: Vec<_> = references_for(substance).map(published).collect();
    let published = if published.is_empty() {
        String::new()
    } else {
        format!(" Published reference values: {}.", published.join("; "))
    };
    format!(
        "{} {what}: {} mg = {} mg/kg ({} kg).{published} {CAUTION}",
        capitalised(substance),
        shown(mg, 1),
        shown(per_kg, 2),
        shown(weight_kg, 1),
    )
}

fn published(reference: &Reference) -> String {
    let whole = reference
        .mg
        .map(|mg| format!(" and {mg} mg"))
        .unwrap_or_default();
    format!(
        "{} mg/kg{whole} ({}; {})",
        reference.mg_per_kg, reference.about, reference.source
    )
}

/// Rounded to some places, or to two figures where it would round to less.
fn shown(value: Decimal, places: u32) -> String {
    let half_away = RoundingStrategy::MidpointAwayFromZero;
    let rounded = value.round_dp_with_strategy(places, half_away);
    if value >= Decimal::ONE || value.is_zero() {
        format!("{rounded:.width$}", width = places as usize)
    } else {
        value
            .round_sf_with_strategy(2, half_away)
            .unwrap_or(value)
            .to_string()
    }
}

fn capitalised(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| {
        first.to_uppercase().chain(letters).collect()
    })
}
