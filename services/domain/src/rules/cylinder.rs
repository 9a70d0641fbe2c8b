//! What the rules say about a gas cylinder, at the case and on the shelf.

use super::checks;
use super::finding::Finding;
use super::sentences as said;
use crate::gas::{CylinderFacts, CylinderFinding, judge_cylinder};
use std::fmt::Display;

/// Every finding of a cylinder in the words of the rules.
#[must_use]
pub fn cylinder_findings(facts: &CylinderFacts) -> Vec<Finding> {
    judge_cylinder(facts)
        .into_iter()
        .filter_map(|finding| in_words(finding, facts))
        .collect()
}

fn in_words(finding: CylinderFinding, facts: &CylinderFacts) -> Option<Finding> {
    let due_on = facts.retest.due_on();
    let retest: [(_, &dyn Display); 2] = [("due_on", &due_on), ("filled_on", &facts.filled_on)];
    Some(match finding {
        CylinderFinding::CylinderLow => {
            let (left, expected) = facts.left.zip(facts.expected_litres)?;
            let litres = |amount: f64| format!("{amount:.0}");
            let [low, high] = [left.low, left.high].map(litres);
            said::CYLINDER_LOW.with(&[
                ("low", &low),
                ("high", &high),
                ("expected", &litres(expected)),
            ])
        }
        CylinderFinding::NotComputed => said::CYLINDER_NOT_COMPUTED.with(&[]),
        CylinderFinding::RetestDue => said::RETEST_AFTER_FILL.with(&retest),
        CylinderFinding::RetestOverdueAtFill => said::RETEST_BEFORE_FILL.with(&retest),
        CylinderFinding::Expired => checks::expired(facts.expires_on?, facts.today)?,
        CylinderFinding::LabelNotReadBack => said::NOT_READ_BACK.with(&[]),
    })
}
