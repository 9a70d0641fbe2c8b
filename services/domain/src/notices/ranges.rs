//! Ranges of lots and serials.

use super::Of;

/// Lots or serials named without being listed.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Range {
    /// From one code to another, both included; an end that is missing is open.
    Between {
        /// What it runs over.
        of: Of,
        /// The first code.
        from: Option<String>,
        /// The last code, written out where the text shortens it.
        to: Option<String>,
        /// The text of a range without spaces around its hyphen: it may be one code instead, so an
        /// item with exactly this code is named too.
        printed: Option<String>,
    },
    /// Every code with this beginning.
    BeginsWith {
        /// What it runs over.
        of: Of,
        /// The beginning.
        start: String,
    },
}

impl Range {
    /// From one code to another as a person writes it. Both ends with a hyphen between may be one
    /// code instead, so an item with exactly that code is named too.
    #[must_use]
    pub fn between(of: Of, from: Option<String>, to: Option<String>) -> Self {
        let both = from.as_ref().zip(to.as_ref());
        let printed = both.map(|(from, to)| format!("{from}-{to}"));
        Self::Between {
            of,
            from,
            to,
            printed,
        }
    }

    /// What it runs over.
    #[must_use]
    pub fn of(&self) -> Of {
        match self {
            Self::Between { of, .. } | Self::BeginsWith { of, .. } => *of,
        }
    }
}

/// How a code with hyphens is to be taken.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Hyphened<'a> {
    /// One code.
    Code,
    /// A range.
    Range(&'a str, &'a str),
    /// Either; both have to be proposed.
    Either(&'a str, &'a str),
}

/// Judges a hyphen without spaces: `HW001-HW3827` and `123-130` are ranges, `PA17-412` is a lot;
/// two dots (`123..130`) always join.
/// `several` says that the text announces more than one code.
pub(super) fn hyphened(code: &str, several: bool) -> Hyphened<'_> {
    if let Some((from, to)) = code.split_once("..") {
        return match comparable(from, to) {
            true => Hyphened::Range(from, to),
            false => Hyphened::Code,
        };
    }
    let hyphens = code.matches('-').count();
    if hyphens.is_multiple_of(2) {
        return Hyphened::Code;
    }
    let Some((middle, _)) = code.match_indices('-').nth(hyphens / 2) else {
        return Hyphened::Code;
    };
    let (from, to) = (&code[..middle], &code[middle + 1..]);
    let (Some(first), Some(second)) = (tail(from), tail(to)) else {
        return match alike(from, to) && from < to && from.len() >= 4 {
            true => Hyphened::Either(from, to),
            false => Hyphened::Code,
        };
    };
    let same_stem = first.0.eq_ignore_ascii_case(second.0);
    let ascends = (significant(first.1).len(), significant(first.1))
        < (significant(second.1).len(), significant(second.1));
    let numbers_only = first.0.is_empty();
    match (same_stem, ascends) {
        (true, true) if !numbers_only => Hyphened::Range(from, to),
        (true, true) if several => Hyphened::Range(from, to),
        (true, true) if from.len() == to.len() => Hyphened::Either(from, to),
        (false, _) if alike(from, to) && from < to && from.len() >= 4 => Hyphened::Either(from, to),
        _ => Hyphened::Code,
    }
}

/// Whether a dash between spaces can join two codes to a range.
pub(super) fn comparable(from: &str, to: &str) -> bool {
    let (Some(first), Some(second)) = (tail(from), tail(to)) else {
        return alike(from, to);
    };
    first.0.eq_ignore_ascii_case(second.0) || second.0.is_empty() || alike(from, to)
}

/// The last code of a range written out: `CS-ECG-0001 to 2100` ends at `CS-ECG-2100`.
pub(super) fn written_out(from: &str, to: &str) -> String {
    let (Some((stem, number)), true) = (tail(from), to.bytes().all(|b| b.is_ascii_digit())) else {
        return to.to_owned();
    };
    let shorter = to.len() < number.len() && significant(to).len() < significant(number).len();
    match (stem.is_empty(), shorter) {
        (_, true) => format!("{stem}{}{to}", &number[..number.len() - to.len()]),
        (false, false) => format!("{stem}{to}"),
        (true, false) => to.to_owned(),
    }
}

/// What stands before the digits at the end, and these digits.
fn tail(code: &str) -> Option<(&str, &str)> {
    let stem = code.trim_end_matches(|c: char| c.is_ascii_digit());
    (stem.len() < code.len()).then(|| code.split_at(stem.len()))
}

fn significant(digits: &str) -> &str {
    digits.trim_start_matches('0')
}

/// Letters where the other has letters, digits where it has digits.
fn alike(one: &str, other: &str) -> bool {
    one.len() == other.len()
        && one.bytes().zip(other.bytes()).all(|(a, b)| {
            a == b
                || (a.is_ascii_digit() && b.is_ascii_digit())
                || (a.is_ascii_alphabetic() && b.is_ascii_alphabetic())
        })
}
