//! The rules of a scan: facts in, every finding out, and the proof that an item may go on a case.

mod finding;
mod judge;

pub use finding::{Finding, Rule, Severity};
pub use judge::{
    ClaimFacts, Cleared, Facts, HoldFacts, Judgement, LabelFacts, ProductFacts, judge,
};
