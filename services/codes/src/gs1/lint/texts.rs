//! Character sets and small text rules.

use super::Fault;
use crate::gs1::table::Set;

const SET82: &[u8; 82] =
    b"!\"%&'()*+,-./0123456789:;<=>?ABCDEFGHIJKLMNOPQRSTUVWXYZ_abcdefghijklmnopqrstuvwxyz";

/// A byte's place in the set of 82, or 255.
static PLACE: [u8; 256] = places();

const fn places() -> [u8; 256] {
    let mut table = [255; 256];
    let mut i = 0;
    while i < SET82.len() {
        table[SET82[i] as usize] = i as u8;
        i += 1;
    }
    table
}

/// A character's value in the alphanumeric check.
pub(super) fn set82_value(byte: u8) -> Option<u8> {
    Some(PLACE[usize::from(byte)]).filter(|place| *place != 255)
}

/// Whether GS1 text can hold this character.
pub(crate) fn is_set82(byte: u8) -> bool {
    PLACE[usize::from(byte)] != 255
}

/// The first character outside the set, as a fault.
pub(crate) fn in_set(set: Set, value: &[u8]) -> Result<(), Fault> {
    let wrong = match set {
        Set::Digits => value.iter().position(|b| !b.is_ascii_digit()),
        Set::Set82 => value.iter().position(|b| !is_set82(*b)),
        Set::Set39 => value
            .iter()
            .position(|b| !(b.is_ascii_digit() || b.is_ascii_uppercase() || b"#-/".contains(b))),
        Set::Base64 => return base64(value),
    };
    match wrong {
        Some(at) => Err(Fault::character(at)),
        None => Ok(()),
    }
}

/// Base64 for file names. Padding, where present, fills up to a multiple of three, as the
/// dictionary's reference procedure has it.
fn base64(value: &[u8]) -> Result<(), Fault> {
    let data = value
        .iter()
        .rposition(|b| *b != b'=')
        .map_or(0, |last| last + 1);
    let legal = |b: &u8| b.is_ascii_alphanumeric() || *b == b'-' || *b == b'_';
    if let Some(at) = value[..data].iter().position(|b| !legal(b)) {
        return Err(Fault::character(at));
    }
    let padding = value.len() - data;
    (padding == 0 || (padding <= 2 && value.len().is_multiple_of(3)))
        .then_some(())
        .ok_or(Fault::character(data))
}

/// At least one and at most `longest` characters, all of them listed.
pub(super) fn only(value: &[u8], listed: &[u8], longest: usize) -> Result<(), Fault> {
    let fits =
        !value.is_empty() && value.len() <= longest && value.iter().all(|b| listed.contains(b));
    fits.then_some(()).ok_or(Fault::value(0))
}

/// One letter, digit, hyphen or underscore (EU 2018/574).
pub(super) fn importer_index(value: &[u8]) -> Result<(), Fault> {
    let fits = matches!(value, [b] if b.is_ascii_alphanumeric() || *b == b'-' || *b == b'_');
    fits.then_some(()).ok_or(Fault::value(0))
}

/// Every `%` begins two hexadecimal digits.
pub(super) fn percent(value: &[u8]) -> Result<(), Fault> {
    let broken = value.iter().enumerate().find(|(at, b)| {
        **b == b'%'
            && !value
                .get(at + 1..at + 3)
                .is_some_and(|hex| hex.iter().all(u8::is_ascii_hexdigit))
    });
    match broken {
        Some((at, _)) => Err(Fault::value(at)),
        None => Ok(()),
    }
}
