//! The state of a cylinder and what there is to look at before it is used.

use jiff::civil::Date;

use super::gauge::Band;
use super::retest::{FillFinding, RetestMark};
use crate::word::words;

words! {
    /// What a cylinder holds.
    Gas, "gas" {
        /// Helium, whose litres the service can compute.
        Helium = "helium",
        /// Another gas: its litres cannot be computed here.
        Other = "other",
    }
}

words! {
    /// What the tag of a cylinder says.
    CylinderState, "cylinder state" {
        /// Filled and not opened.
        Full = "full",
        /// Opened; gas is left.
        InUse = "in_use",
        /// No gas is left above the site's empty pressure.
        Empty = "empty",
    }
}

impl CylinderState {
    /// The state of a cylinder by its newest gauge reading and the site's empty pressure, in bar.
    #[must_use]
    pub fn of(opened: bool, gauge_bar: f64, empty_bar: f64) -> Self {
        if gauge_bar <= empty_bar {
            Self::Empty
        } else if opened {
            Self::InUse
        } else {
            Self::Full
        }
    }
}

words! {
    /// What a person has to look at before a cylinder is used.
    CylinderFinding, "cylinder finding" {
        /// The least that can be left is less than the case is expected to use.
        CylinderLow = "cylinder_low",
        /// What is left cannot be computed: no gauge reading, or another gas than helium.
        NotComputed = "not_computed",
        /// The retest mark ran out since the fill.
        RetestDue = "retest_due",
        /// The retest mark had run out when the cylinder was filled.
        RetestOverdueAtFill = "retest_overdue_at_fill",
        /// The gas is past its outdate.
        Expired = "expired",
        /// The label's name was not read back.
        LabelNotReadBack = "label_not_read_back",
    }
}

/// What the findings of a cylinder depend on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CylinderFacts {
    /// Litres left above the reserve; none where they cannot be computed.
    pub left: Option<Band>,
    /// Litres the case is expected to use; none where nobody said.
    pub expected_litres: Option<f64>,
    /// The stamped mark.
    pub retest: RetestMark,
    /// The day of the fill.
    pub filled_on: Date,
    /// The last day on which the gas may be used; none where the label has none.
    pub expires_on: Option<Date>,
    /// Whether a person read the name on the label back: outlet and colour do not prove contents.
    pub label_read_back: bool,
    /// The day asked about, in the facility's zone.
    pub today: Date,
}

/// Every finding of a cylinder.
#[must_use]
pub fn judge_cylinder(facts: &CylinderFacts) -> Vec<CylinderFinding> {
    let fill = facts.retest.judge(facts.filled_on, facts.today);
    [
        facts
            .left
            .zip(facts.expected_litres)
            .is_some_and(|(left, litres)| left.low < litres)
            .then_some(CylinderFinding::CylinderLow),
        facts.left.is_none().then_some(CylinderFinding::NotComputed),
        (fill == FillFinding::DueSinceFill).then_some(CylinderFinding::RetestDue),
        (fill == FillFinding::OverdueAtFill).then_some(CylinderFinding::RetestOverdueAtFill),
        facts
            .expires_on
            .is_some_and(|day| facts.today > day)
            .then_some(CylinderFinding::Expired),
        (!facts.label_read_back).then_some(CylinderFinding::LabelNotReadBack),
    ]
    .into_iter()
    .flatten()
    .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn facts() -> CylinderFacts {
        CylinderFacts {
            left: Some(Band {
                value: 157.2,
                low: 138.6,
                high: 175.7,
            }),
            expected_litres: Some(138.0),
            retest: RetestMark {
                month: date(2024, 5, 1),
                star: false,
            },
            filled_on: date(2026, 1, 5),
            expires_on: Some(date(2031, 1, 31)),
            label_read_back: true,
            today: date(2026, 11, 27),
        }
    }

    // Tags FULL, IN USE and EMPTY: common practice, no source.
    #[test]
    fn a_cylinder_is_full_until_opened_and_empty_at_the_empty_pressure() {
        assert_eq!(CylinderState::of(false, 139.0, 3.5), CylinderState::Full);
        assert_eq!(CylinderState::of(true, 139.0, 3.5), CylinderState::InUse);
        assert_eq!(CylinderState::of(true, 3.5, 3.5), CylinderState::Empty);
    }

    // The band of 500 psi is CoolProp 8.0.0's; that the low end decides is our own rule.
    #[test]
    fn a_cylinder_is_low_where_the_low_end_of_the_band_does_not_last() {
        assert_eq!(judge_cylinder(&facts()), []);
        let more = CylinderFacts {
            expected_litres: Some(139.0),
            ..facts()
        };
        assert_eq!(judge_cylinder(&more), [CylinderFinding::CylinderLow]);
    }

    #[test]
    fn what_cannot_be_computed_is_named_and_never_taken_for_nothing_left() {
        let unread = CylinderFacts {
            left: None,
            ..facts()
        };
        assert_eq!(judge_cylinder(&unread), [CylinderFinding::NotComputed]);
    }

    #[test]
    fn every_finding_is_named_not_only_the_first() {
        let bad = CylinderFacts {
            expected_litres: Some(500.0),
            filled_on: date(2029, 6, 1),
            expires_on: Some(date(2029, 5, 31)),
            label_read_back: false,
            today: date(2029, 6, 2),
            ..facts()
        };
        assert_eq!(
            judge_cylinder(&bad),
            [
                CylinderFinding::CylinderLow,
                CylinderFinding::RetestOverdueAtFill,
                CylinderFinding::Expired,
                CylinderFinding::LabelNotReadBack,
            ]
        );
    }
}
