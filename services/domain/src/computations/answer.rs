//! What a computation answers.

use serde::Serialize;

use super::{Figure, deadline, effectiveness, helium, mix, retention};

/// The answer of a computation; its JSON is one object.
#[derive(Debug, Serialize)]
#[serde(untagged)]
pub enum Answer<'a> {
    /// Of a helium cylinder.
    Helium(helium::Helium<'a>),
    /// Of a mix.
    Mix(Box<mix::Mix<'a>>),
    /// Of a deadline.
    Deadline(deadline::Answer<'a>),
    /// Of effectiveness checks.
    Effectiveness(effectiveness::Effectiveness<'a>),
    /// Of a retention date.
    Retention(retention::Retention<'a>),
}

/// A value that nobody entered, and where it is from.
#[derive(Debug, Serialize)]
pub struct Assumed {
    /// The field that would have set it, or the constant's name.
    pub field: &'static str,
    /// The value, in the unit of the field's name.
    pub value: Figure,
    /// Where it is from.
    pub source: &'static str,
}
