//! What the rules say about a mix when it is made, checked or given.

use super::checks;
use super::finding::Finding;
use super::judge::{HoldFacts, NoticeFacts};
use super::sentences as said;
use jiff::civil::DateTime;
use std::fmt::Display;

/// What the rules ask about a mix.
#[derive(Clone, Debug)]
pub struct MixFacts<'a> {
    /// The civil time in the facility's zone.
    pub now: DateTime,
    /// Until when it may be used, in the same zone.
    pub use_by: DateTime,
    /// Where the site has its time from.
    pub use_by_source: &'a str,
    /// Holds in force that hit an ingredient.
    pub holds: &'a [HoldFacts<'a>],
    /// Confirmed notices that hit an ingredient.
    pub notices: &'a [NoticeFacts<'a>],
}

/// Every finding of a mix; a stop keeps it from being made, checked or given.
#[must_use]
pub fn judge_mix(facts: &MixFacts<'_>) -> Vec<Finding> {
    let mut findings: Vec<Finding> = facts.holds.iter().map(checks::on_hold).collect();
    findings.extend(facts.notices.iter().map(checks::recalled));
    if facts.now > facts.use_by {
        let until = facts.use_by.strftime("%Y-%m-%d %H:%M");
        let values: [(_, &dyn Display); 2] = [("until", &until), ("rule", &facts.use_by_source)];
        findings.push(said::MIX_PAST_USE_BY.with(&values));
    }
    findings
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rules::Rule;
    use jiff::civil::date;

    // USP <797> section 1.3, from memory: started at 07:40, latest start 11:40.
    #[test]
    fn a_mix_is_usable_through_its_minute_and_not_after() {
        let facts = |hour, minute| MixFacts {
            now: date(2026, 3, 10).at(hour, minute, 0, 0),
            use_by: date(2026, 3, 10).at(11, 40, 0, 0),
            use_by_source: "site policy 12",
            holds: &[],
            notices: &[],
        };
        assert_eq!(judge_mix(&facts(11, 40)), []);
        let late = judge_mix(&facts(11, 41));
        assert_eq!(late.len(), 1);
        assert_eq!(late[0].slug, Rule::MixPastUseBy);
        assert!(late[0].sentence.contains("site policy 12"));
    }
}
