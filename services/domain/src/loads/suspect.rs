//! The loads that a positive biological indicator makes suspect (CDC Guideline for Disinfection
//! and Sterilization in Healthcare Facilities, 2008, updated 2019; positive spore tests).

use crate::word::words;

words! {
    /// What a load's biological indicator showed.
    Biological, "biological indicator" {
        /// No growth.
        Negative = "negative",
        /// Growth.
        Positive = "positive",
        /// The load had none, or it is not read yet.
        None = "none",
    }
}

words! {
    /// What a site does after a positive indicator; an explicit choice of the site.
    PositivePolicy, "policy after a positive indicator" {
        /// All loads from the last negative indicator to the next are recalled.
        RecallSuspect = "recall_suspect",
        /// A single positive with good mechanical and chemical indicators and a negative repeat
        /// is put before a person; nothing is recalled by itself.
        DecideSinglePositive = "decide_single_positive",
    }
}

words! {
    /// What follows from a positive indicator.
    AfterPositive, "what follows a positive indicator" {
        /// The suspect loads are held and recalled.
        Recall = "recall",
        /// The suspect loads are held until a person decides.
        Decide = "decide",
    }
}

/// The places of the suspect loads among one sterilizer's loads in the order they were run: from
/// the one after the last negative indicator before the positive one, to the one before the next
/// negative indicator.
///
/// Empty where the load at this place has no positive indicator.
#[must_use]
pub fn suspect_loads(loads: &[Biological], positive: usize) -> std::ops::Range<usize> {
    if loads.get(positive) != Some(&Biological::Positive) {
        return positive..positive;
    }
    let (before, after) = loads.split_at(positive);
    let negative = |load: &Biological| *load == Biological::Negative;
    let start = before.iter().rposition(negative).map_or(0, |last| last + 1);
    let end = after
        .iter()
        .position(negative)
        .map_or(loads.len(), |next| positive + next);
    start..end
}

/// What a site's policy makes of a positive indicator.
///
/// A load with an implant, other indicators that were not good, or a repeat that is not negative
/// is recalled under every policy.
#[must_use]
pub fn after_positive(
    policy: PositivePolicy,
    implant_in_load: bool,
    other_indicators_good: bool,
    repeat: Biological,
) -> AfterPositive {
    let single = !implant_in_load && other_indicators_good && repeat == Biological::Negative;
    match policy {
        PositivePolicy::DecideSinglePositive if single => AfterPositive::Decide,
        PositivePolicy::DecideSinglePositive | PositivePolicy::RecallSuspect => {
            AfterPositive::Recall
        }
    }
}

#[cfg(test)]
mod tests {
    use super::Biological::{Negative, None, Positive};
    use super::*;

    // CDC 2008 (2019), positive spore tests: L101 negative, L102, L103, L104 positive, L105 none,
    // L106 negative; suspect are L102 to L105.
    #[test]
    fn loads_between_two_negative_indicators_are_suspect() {
        let loads = [Negative, None, None, Positive, None, Negative];
        assert_eq!(suspect_loads(&loads, 3), 1..5);
        assert!(suspect_loads(&loads, 2).is_empty());
        assert!(suspect_loads(&loads, 9).is_empty());
    }

    // The same procedure: without a negative on a side there is no end on that side.
    #[test]
    fn without_a_negative_indicator_all_loads_are_suspect() {
        assert_eq!(suspect_loads(&[None, Positive, None], 1), 0..3);
        assert_eq!(
            suspect_loads(&[Negative, Positive, Positive, Negative], 1),
            1..3
        );
    }

    // The same procedure: a single positive with good other indicators need not recall.
    #[test]
    fn a_single_positive_is_decided_only_where_the_site_chose_so() {
        use PositivePolicy::{DecideSinglePositive, RecallSuspect};
        let decide = AfterPositive::Decide;
        assert_eq!(
            after_positive(DecideSinglePositive, false, true, Negative),
            decide
        );
        for (policy, implant, good, repeat) in [
            (RecallSuspect, false, true, Negative),
            (DecideSinglePositive, true, true, Negative),
            (DecideSinglePositive, false, false, Negative),
            (DecideSinglePositive, false, true, Positive),
            (DecideSinglePositive, false, true, None),
        ] {
            let after = after_positive(policy, implant, good, repeat);
            assert_eq!(after, AfterPositive::Recall);
        }
    }
}
