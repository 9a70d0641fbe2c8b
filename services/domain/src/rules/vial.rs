//! What the rules say about a multi-dose vial.

use super::finding::{Finding, Severity};
use super::sentences as said;
use jiff::civil::Date;

/// A vial as far as the rules ask.
#[derive(Clone, Copy, Debug)]
pub struct VialFacts<'a> {
    /// What is written on the container.
    pub name: &'a str,
    /// The day of its first puncture.
    pub punctured_on: Date,
    /// Its last usable day.
    pub last_day: Date,
    /// False where the label does not show which container of the lot it is.
    pub certain: bool,
}

/// The finding of a vial that is past its last day; one that may be another container only has to
/// be looked at.
#[must_use]
pub fn judge_vial(facts: &VialFacts<'_>, today: Date) -> Option<Finding> {
    if facts.last_day >= today {
        return None;
    }
    let sentence = match facts.certain {
        true => &said::VIAL_OVER,
        false => &said::VIAL_MAY_BE_OVER,
    };
    let mut finding = sentence.with(&[
        ("vial", &facts.name),
        ("punctured_on", &facts.punctured_on),
        ("last_day", &facts.last_day),
    ]);
    if !facts.certain {
        finding.severity = Severity::Look;
    }
    Some(finding)
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    // USP <797> section 15.2, from memory, and CDC's injection-safety questions: punctured on
    // 2026-03-02, usable through 2026-03-30.
    #[test]
    fn a_vial_is_usable_through_its_last_day() {
        let facts = |certain| VialFacts {
            name: "A",
            punctured_on: date(2026, 3, 2),
            last_day: date(2026, 3, 30),
            certain,
        };
        assert_eq!(judge_vial(&facts(true), date(2026, 3, 30)), None);
        let severity = |certain| {
            let finding = judge_vial(&facts(certain), date(2026, 3, 31));
            finding.map(|finding| finding.severity)
        };
        assert_eq!(severity(true), Some(Severity::Stop));
        assert_eq!(severity(false), Some(Severity::Look));
    }
}
