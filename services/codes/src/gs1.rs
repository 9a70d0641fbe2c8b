//! GS1 element strings: as scanned, as printed in brackets, and what they mean.

pub(crate) mod associations;
mod bracketed;
mod dates;
pub(crate) mod digital_link;
pub(crate) mod element_string;
mod identity;
pub(crate) mod lint;
pub(crate) mod table;
mod write;

pub(crate) use bracketed::read_bracketed;
pub(crate) use element_string::{Start, read_element_string};
pub(crate) use identity::{add_gtin_facts, add_identity};
pub use write::{Unwritable, bracketed, element_string as write_element_string};

use crate::{CheckDigits, UnreadCode};
use lint::{Check, Fault};
use table::Ai;

/// Checks a value against its row. Answers whether a wrong check digit was tolerated.
pub(crate) fn check_value(ai: &Ai, value: &[u8], check_digits: CheckDigits) -> Result<bool, Fault> {
    let mut at = 0;
    let mut tolerated = false;
    for part in ai.parts {
        let rest = &value[at..];
        if rest.is_empty() && part.optional {
            break;
        }
        let piece = &rest[..rest.len().min(usize::from(part.max))];
        lint::in_set(part.set, piece).map_err(|fault| fault.after(at))?;
        if piece.len() < usize::from(part.min) {
            return Err(Fault::length(value.len()));
        }
        for check in part.checks {
            match check.run(piece) {
                Err(fault)
                    if is_tolerable(*check, fault) && check_digits == CheckDigits::Tolerate =>
                {
                    tolerated = true
                }
                result => result.map_err(|fault| fault.after(at))?,
            }
        }
        at += piece.len();
    }
    if at < value.len() {
        Err(Fault::length(at))
    } else {
        Ok(tolerated)
    }
}

fn is_tolerable(check: Check, fault: Fault) -> bool {
    matches!(check, Check::DigitSum | Check::PairSum) && fault.code == UnreadCode::WrongCheckDigit
}
