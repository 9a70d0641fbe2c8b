//! One product as a catalogue file describes it.

use crate::NotAWord;
use crate::catalogue::{LabelCarries, NewIdentifier, ProductKind, UseClass};
use lotwarden_codes::IdentifierFault;

/// A product as a catalogue file describes it, whole and checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProductRecord {
    /// The line of the file it ends on, from 1.
    pub line: u64,
    /// The name: 1 to 500 characters.
    pub name: String,
    /// Who makes it: at most 200 characters.
    pub maker: String,
    /// The maker's model or version: at most 200 characters.
    pub model: String,
    /// What it is; none when the file does not say.
    pub kind: Option<ProductKind>,
    /// How often a piece may be used.
    pub use_class: UseClass,
    /// What its label has to carry.
    pub carries: LabelCarries,
    /// 1 to 100 identifiers, each code once.
    pub identifiers: Vec<NewIdentifier>,
}

/// Why a record of a catalogue file is not used.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("line {line}, {field}: {problem}")]
pub struct RecordFault {
    /// The line of the file, from 1.
    pub line: u64,
    /// The field, in the words of the file's form.
    pub field: &'static str,
    /// What is wrong with it.
    pub problem: Problem,
}

/// What is wrong with a field.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Problem {
    /// The line is not in the file's form.
    #[error("not a {0}")]
    Malformed(&'static str),
    /// A value that has to be there is not.
    #[error("missing")]
    Missing,
    /// Too many characters.
    #[error("longer than {most} characters")]
    TooLong {
        /// The most there may be.
        most: usize,
    },
    /// None of the words the field takes.
    #[error(transparent)]
    NotAWord(#[from] NotAWord),
    /// No day of the calendar.
    #[error("not a date: write it as 20251231 or 2025-12-31")]
    NotADate,
    /// Neither yes nor no.
    #[error("neither true nor false")]
    NotAFlag,
    /// No count of units.
    #[error("not a whole number from 1 to 1000000")]
    NotACount,
    /// The code cannot be one of its agency.
    #[error(transparent)]
    Identifier(#[from] IdentifierFault),
    /// No agency whose codes are known.
    #[error("the agency {0:?} is none whose codes are known")]
    UnknownAgency(String),
    /// A package of something that the record does not describe.
    #[error("a package of {0:?}, which the record does not describe")]
    UnknownContent(String),
    /// The same code twice with different quantities.
    #[error("{0} stands twice with different quantities")]
    Twice(String),
    /// An earlier record has the identifier.
    #[error("{code} names the product of line {line} already")]
    Repeated {
        /// The identifier, agency first.
        code: String,
        /// The line of the earlier record.
        line: u64,
    },
    /// More identifiers than a product has.
    #[error("more than {most} identifiers")]
    TooMany {
        /// The most there may be.
        most: usize,
    },
    /// The rows of one product say different things.
    #[error("another value than on line {0}, which describes the same product")]
    DiffersFromLine(u64),
    /// The record is withdrawn.
    #[error("the record is withdrawn")]
    Withdrawn,
}

/// Identifiers of one product at most.
const MOST_IDENTIFIERS: usize = 100;
/// Units of use in one package at most.
pub(super) const MOST_UNITS: u32 = 1_000_000;

/// The fault of a field on a line.
pub(super) fn fault(line: u64, field: &'static str, problem: impl Into<Problem>) -> RecordFault {
    RecordFault {
        line,
        field,
        problem: problem.into(),
    }
}

/// A text without control characters and outer space, of bounded length.
pub(super) fn text(
    line: u64,
    field: &'static str,
    text: &str,
    most: usize,
) -> Result<String, RecordFault> {
    let clean: String = text
        .trim()
        .chars()
        .map(|c| if c.is_control() { ' ' } else { c })
        .collect();
    if clean.chars().count() > most {
        return Err(fault(line, field, Problem::TooLong { most }));
    }
    Ok(clean)
}

/// Adds the identifiers of one code; the same one again is no second.
pub(super) fn add(
    all: &mut Vec<NewIdentifier>,
    new: Vec<NewIdentifier>,
    (line, field): (u64, &'static str),
) -> Result<(), RecordFault> {
    for identifier in new {
        match all.iter().find(|known| known.code == identifier.code) {
            None => all.push(identifier),
            Some(known) if known.quantity == identifier.quantity => {}
            Some(_) => {
                let problem = Problem::Twice(identifier.code.to_string());
                return Err(fault(line, field, problem));
            }
        }
    }
    if all.len() > MOST_IDENTIFIERS {
        let most = MOST_IDENTIFIERS;
        return Err(fault(line, field, Problem::TooMany { most }));
    }
    Ok(())
}
