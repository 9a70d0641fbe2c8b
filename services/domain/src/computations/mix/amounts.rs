//! Amounts by substance, as they are shown.

use std::collections::BTreeMap;

use rust_decimal::Decimal;

use crate::computations::Figure;
use crate::mixes::Amount;

/// Figures by substance.
pub type Figures = BTreeMap<String, Figure>;

/// One part of each amount; substances without it are left out.
pub fn figures(
    amounts: &BTreeMap<String, Amount>,
    part: impl Fn(&Amount) -> Option<Decimal>,
) -> Figures {
    amounts
        .iter()
        .filter_map(|(substance, amount)| Some((substance.clone(), part(amount)?.into())))
        .collect()
}

/// Two sets of amounts together.
pub fn merged(
    one: &BTreeMap<String, Amount>,
    other: &BTreeMap<String, Amount>,
) -> BTreeMap<String, Amount> {
    let mut all = one.clone();
    for (substance, amount) in other {
        let sum = all.entry(substance.clone()).or_default();
        *sum = sum.plus(*amount);
    }
    all
}
