//! The rules of a scan: facts in, every finding out, and the proof that an item may go on a case.

mod checks;
mod cylinder;
mod dock;
mod equipment;
mod finding;
mod judge;
mod mix;
mod processing;
mod sentences;
mod vial;

pub use cylinder::cylinder_findings;
pub use dock::{DockFacts, PieceFacts, judge_at_dock};
pub use equipment::{EquipmentFacts, judge_equipment};
pub use finding::{Finding, Rule, Severity, verdict_of};
pub use judge::{
    ClaimFacts, Cleared, Facts, HoldFacts, Judgement, LabelFacts, NoticeFacts, ProductFacts, judge,
};
pub use mix::{MixFacts, judge_mix};
pub use processing::{LoadFacts, ProcessingFacts, judge_processing};
pub use sentences::{SENTENCES, Sentence};
pub use vial::{VialFacts, judge_vial};
