//! What the rules say about a gas cylinder, at the case and on the shelf.

use super::checks;
use super::finding::{Finding, Rule};
use crate::gas::{CylinderFacts, CylinderFinding, judge_cylinder};

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
    Some(match finding {
        CylinderFinding::CylinderLow => {
            let (left, expected) = facts.left.zip(facts.expected_litres)?;
            Finding::new(
                Rule::CylinderLow,
                format!(
                    "As little as {:.0} litres may be left (between {:.0} and {:.0}); the site \
                     expects a case to use {expected:.0}.",
                    left.low, left.low, left.high
                ),
            )
        }
        CylinderFinding::NotComputed => Finding::new(
            Rule::CylinderLow,
            "What is left in this cylinder cannot be computed: there is no gauge reading of this \
             fill, or the gas is not helium.",
        ),
        CylinderFinding::RetestDue => Finding::new(
            Rule::RetestDue,
            format!(
                "The retest mark ran out on {due_on}, after the fill of {}; the cylinder is not \
                 refilled before its retest.",
                facts.filled_on
            ),
        ),
        CylinderFinding::RetestOverdueAtFill => Finding::new(
            Rule::RetestDue,
            format!(
                "The retest mark had run out on {due_on}, before the fill of {}; tell the \
                 materials manager.",
                facts.filled_on
            ),
        ),
        CylinderFinding::Expired => checks::expired(facts.expires_on?, facts.today)?,
        CylinderFinding::LabelNotReadBack => Finding::new(
            Rule::LabelNotReadBack,
            "The name on this cylinder's label was not read back; outlet and colour do not prove \
             what is in it.",
        ),
    })
}
