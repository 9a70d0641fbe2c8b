//! Pharmacy Product Numbers.

use crate::IdentifierFault;
use crate::label_date::digits;

/// Checks a Pharmacy Product Number: two digits of agency code, the product code, two
/// check digits: sum of character codes weighted 2, 3, 4, ... modulo 97 (IFA, PPN
/// specification).
pub(crate) fn check_ppn(code: &[u8]) -> Result<(), IdentifierFault> {
    if !(5..=22).contains(&code.len()) {
        return Err(IdentifierFault::WrongLength);
    }
    // Its data identifier 9N is no agency's code; without this, a number could be read both
    // with and without it.
    if code.starts_with(b"9N") {
        return Err(IdentifierFault::WrongCharacter);
    }
    if !code
        .iter()
        .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
    {
        return Err(IdentifierFault::WrongCharacter);
    }
    let (body, check) = code.split_at(code.len() - 2);
    let sum: u32 = body
        .iter()
        .zip(2..)
        .map(|(b, weight)| u32::from(*b) * weight)
        .sum();
    let fits = digits(check).is_some_and(|c| u32::try_from(c) == Ok(sum % 97));
    fits.then_some(()).ok_or(IdentifierFault::WrongCheckDigit)
}
