//! Computations as JSON objects: fields in, fields out, with formula, source and caution.
//!
//! A missing or absurd field is a fault by its name, never a zero; every faulty field is named.

mod answer;
mod deadline;
mod effectiveness;
mod fault;
mod fields;
mod figure;
mod helium;
mod mix;
mod parse;
mod retention;

use serde_json::Value;

pub use answer::{Answer, Assumed};
pub use fault::{Fault, FaultCode, Faults};
pub use fields::shown;
pub use figure::Figure;

use crate::word::words;

/// Stands in every answer.
pub const CAUTION: &str = "For information only; the licensed practitioner decides.";

words! {
    /// What can be computed.
    Computation, "computation" {
        /// Litres and minutes left in a helium cylinder.
        Helium = "helium",
        /// Amounts and concentrations of a mix.
        Mix = "mix",
        /// The day by which a report or an answer is due.
        Deadline = "deadline",
        /// How many effectiveness checks, and whether pieces are accounted for.
        Effectiveness = "effectiveness",
        /// Until when the record of a case is kept.
        Retention = "retention",
    }
}

impl Computation {
    /// Computes from an object of fields.
    ///
    /// # Errors
    /// Every field that is missing, absurd or unknown.
    pub fn of(self, asked: &Value) -> Result<Answer<'_>, Faults> {
        Ok(match self {
            Self::Helium => Answer::Helium(helium::compute(asked)?),
            Self::Mix => Answer::Mix(Box::new(mix::compute(asked)?)),
            Self::Deadline => Answer::Deadline(deadline::compute(asked)?),
            Self::Effectiveness => Answer::Effectiveness(effectiveness::compute(asked)?),
            Self::Retention => Answer::Retention(retention::compute(asked)?),
        })
    }
}

#[cfg(test)]
mod tests;
