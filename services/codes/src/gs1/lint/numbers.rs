//! Check digits, check characters and ranges.

use super::{Fault, digits_only, lists, texts};
use crate::{UnreadCode, gtin};

const CHECK: UnreadCode = UnreadCode::WrongCheckDigit;

/// The last digit is the check digit (GS1 General Specifications 7.9.1).
pub(super) fn check_digit(value: &[u8]) -> Result<(), Fault> {
    let Some(last) = value.len().checked_sub(1) else {
        return Err(Fault::length(0));
    };
    digits_only(value)?;
    (gtin::check_digit(&value[..last]) == value[last])
        .then_some(())
        .ok_or(Fault {
            code: CHECK,
            at: last,
        })
}

/// Weights of the alphanumeric check: primes, rightmost data character first.
const PRIMES: [u32; 97] = [
    2, 3, 5, 7, 11, 13, 17, 19, 23, 29, 31, 37, 41, 43, 47, 53, 59, 61, 67, 71, 73, 79, 83, 89, 97,
    101, 103, 107, 109, 113, 127, 131, 137, 139, 149, 151, 157, 163, 167, 173, 179, 181, 191, 193,
    197, 199, 211, 223, 227, 229, 233, 239, 241, 251, 257, 263, 269, 271, 277, 281, 283, 293, 307,
    311, 313, 317, 331, 337, 347, 349, 353, 359, 367, 373, 379, 383, 389, 397, 401, 409, 419, 421,
    431, 433, 439, 443, 449, 457, 461, 463, 467, 479, 487, 491, 499, 503, 509,
];
const SET32: &[u8; 32] = b"23456789ABCDEFGHJKLMNPQRSTUVWXYZ";

/// The last two characters are the check pair: prime-weighted sum modulo 1021, five bits
/// each (GS1 General Specifications 7.9.5).
pub(super) fn check_pair(value: &[u8]) -> Result<(), Fault> {
    let Some(end) = value.len().checked_sub(2) else {
        return Err(Fault::length(0));
    };
    if end > PRIMES.len() {
        return Err(Fault::length(0));
    }
    let mut sum = 0;
    for (at, (byte, prime)) in value[..end]
        .iter()
        .zip(PRIMES[..end].iter().rev())
        .enumerate()
    {
        let weight = texts::set82_value(*byte).ok_or(Fault::character(at))?;
        sum += u32::from(weight) * prime;
    }
    let sum = usize::try_from(sum % 1021).unwrap_or_default();
    let pair = [SET32[sum >> 5], SET32[sum & 31]];
    (value[end..] == pair).then_some(()).ok_or(Fault {
        code: CHECK,
        at: end,
    })
}

/// Four digits of a company prefix from the given place (the shortest prefixes).
pub(super) fn company_prefix(value: &[u8], from: usize) -> Result<(), Fault> {
    let Some(prefix) = value.get(from..from + 4) else {
        return Err(Fault::length(0));
    };
    digits_only(prefix).map_err(|fault| fault.after(from))
}

/// A bank account number (ISO 13616): country, then modulo 97 over the rotated number.
pub(super) fn iban(value: &[u8]) -> Result<(), Fault> {
    if !(11..=34).contains(&value.len()) {
        return Err(Fault::length(0));
    }
    lists::country_letters(&value[..2])?;
    let mut remainder = 0u32;
    for at in (4..value.len()).chain(0..4) {
        let (factor, weight) = match value[at] {
            digit @ b'0'..=b'9' => (10, digit - b'0'),
            letter @ b'A'..=b'Z' => (100, letter - b'A' + 10),
            _ => return Err(Fault::character(at)),
        };
        remainder = (remainder * factor + u32::from(weight)) % 97;
    }
    (remainder == 1)
        .then_some(())
        .ok_or(Fault { code: CHECK, at: 2 })
}

/// Ten digits of degrees shifted to be positive.
pub(super) fn coordinate(value: &[u8], limit: u64) -> Result<(), Fault> {
    if value.len() != 10 {
        return Err(Fault::length(0));
    }
    digits_only(value)?;
    (number(value) <= limit)
        .then_some(())
        .ok_or(Fault::value(0))
}

pub(super) fn no_zero_prefix(value: &[u8]) -> Result<(), Fault> {
    digits_only(value)?;
    if value.first() == Some(&b'0') {
        Err(Fault::value(0))
    } else {
        Ok(())
    }
}

pub(super) fn non_zero(value: &[u8]) -> Result<(), Fault> {
    digits_only(value)?;
    value
        .iter()
        .any(|b| *b != b'0')
        .then_some(())
        .ok_or(Fault::value(0))
}

/// Two halves: which piece, of how many.
pub(super) fn piece_of_total(value: &[u8]) -> Result<(), Fault> {
    if value.is_empty() || !value.len().is_multiple_of(2) {
        return Err(Fault::length(0));
    }
    digits_only(value)?;
    let (piece, total) = value.split_at(value.len() / 2);
    non_zero(piece)?;
    non_zero(total).map_err(|fault| fault.after(piece.len()))?;
    (piece <= total).then_some(()).ok_or(Fault::value(0))
}

/// `position/end` without leading zeros.
pub(super) fn position_in_sequence(value: &[u8]) -> Result<(), Fault> {
    let mut halves = value.split(|b| *b == b'/');
    let (Some(position), Some(end), None) = (halves.next(), halves.next(), halves.next()) else {
        return Err(Fault::value(0));
    };
    if position.is_empty() || end.is_empty() || digits_only(position).and(digits_only(end)).is_err()
    {
        return Err(Fault::value(0));
    }
    no_zero_prefix(position)?;
    no_zero_prefix(end).map_err(|fault| fault.after(position.len() + 1))?;
    let ordered = (position.len(), position) <= (end.len(), end);
    ordered.then_some(()).ok_or(Fault::value(0))
}

fn number(digits: &[u8]) -> u64 {
    digits.iter().fold(0, |n, b| n * 10 + u64::from(b - b'0'))
}
