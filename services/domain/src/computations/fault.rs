//! What is wrong with a field.

use serde::Serialize;

use crate::word::words;

words! {
    /// The kind of a fault; permanent.
    FaultCode, "fault" {
        /// The input is no JSON.
        NotJson = "not_json",
        /// Not an object where one has to be.
        NotAnObject = "not_an_object",
        /// Not a list where one has to be, or an empty one.
        NotAList = "not_a_list",
        /// A field that is needed is not there.
        Missing = "missing",
        /// A field that this computation does not know.
        UnknownField = "unknown_field",
        /// Neither a number nor a decimal in a string.
        NotANumber = "not_a_number",
        /// A number with a fraction where things are counted.
        NotAWholeNumber = "not_a_whole_number",
        /// A number outside of what can be.
        OutOfRange = "out_of_range",
        /// Not a day of the calendar.
        NotADate = "not_a_date",
        /// Not a day with a time.
        NotATime = "not_a_time",
        /// Not a text, or an empty one.
        NotAText = "not_a_text",
        /// Neither true nor false.
        NotTrueOrFalse = "not_true_or_false",
        /// None of the words a field takes.
        UnknownWord = "unknown_word",
        /// Does not go with another field.
        Conflict = "conflict",
    }
}

/// One faulty field.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Fault {
    /// What kind of fault.
    pub code: FaultCode,
    /// The field's path, such as `ingredients[1].volume_ml`; empty for the object itself.
    pub field: String,
    /// What is wrong and what to give.
    pub message: String,
}

/// Every faulty field of an input, in the order of reading; never empty.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Faults(pub Vec<Fault>);

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        if self.field.is_empty() {
            f.write_str(&self.message)
        } else {
            write!(f, "{}: {}", self.field, self.message)
        }
    }
}

impl std::fmt::Display for Faults {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        for (index, fault) in self.0.iter().enumerate() {
            write!(f, "{}{fault}", if index == 0 { "" } else { "; " })?;
        }
        Ok(())
    }
}

impl std::error::Error for Faults {}
