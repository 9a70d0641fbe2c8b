//! Recall effectiveness: how many to check, and whether every piece is accounted for.

mod counts;
mod levels;
mod samples;

pub use counts::{Counts, Reconciled};
pub use levels::{Level, LevelChecks};
pub use samples::{finite_sample, zero_failure_sample};
