//! The words of the trade as types, the rules that judge a scan, and who may do what.
//!
//! Nothing here does I/O or reads a clock: every fact comes in as an argument.

pub mod access;
pub mod cases;
pub mod catalogue;
mod causes;
pub mod clock;
pub mod computations;
pub mod deadlines;
pub mod effectiveness;
pub mod energy;
pub mod equipment;
pub mod gas;
pub mod import;
pub mod label;
pub mod loads;
pub mod mixes;
pub mod notices;
pub mod outbox;
pub mod picking;
pub mod policy;
pub mod retention;
pub mod routines;
pub mod rules;
mod sentence;
pub mod station;
mod word;

pub use causes::Causes;
pub use clock::{Clock, SystemClock};

/// A text that is none of the words a field takes.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("not a {what}: use one of {}", words.join(", "))]
pub struct NotAWord {
    /// What the field holds, in the words of the API.
    pub what: &'static str,
    /// Every word it takes.
    pub words: &'static [&'static str],
}
