//! GTINs as bare digits: EAN-8, EAN-13, UPC-A, UPC-E, ITF-14, or typed.

use crate::gs1::element_string::Splitter;
use crate::gs1::{Start, add_gtin_facts, add_identity, associations};
use crate::{CheckDigits, Context, Form, Identifier, Reading, Unread, UnreadCode, Warning};

/// Whether the last digit is the GS1 check digit of the ones before it: weights 3, 1, 3,
/// ... from the right (GS1 General Specifications 7.9).
pub(crate) fn check_digit_fits(digits: &[u8]) -> bool {
    match digits.split_last() {
        Some((last, body)) if !body.is_empty() && digits.iter().all(u8::is_ascii_digit) => {
            check_digit(body) == *last
        }
        _ => false,
    }
}

/// The check digit that belongs behind these digits.
pub(crate) fn check_digit(body: &[u8]) -> u8 {
    let mut sum = 0u32;
    let mut weight = 3;
    for digit in body.iter().rev() {
        sum += u32::from(digit.wrapping_sub(b'0')) * weight;
        weight = 4 - weight;
    }
    let digit = (10 - sum % 10) % 10;
    b'0' + u8::try_from(digit).unwrap_or_default()
}

/// Reads exactly `length` digits of an EAN, UPC or ITF-14 symbol and, after `|]e0`, the
/// element string of its 2D companion.
pub(crate) fn read_symbol<'a>(
    input: &'a str,
    start: usize,
    length: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let (digits, companion) = match input[start..].find('|') {
        Some(bar) => (&input[start..start + bar], Some(start + bar + 1)),
        None => (&input[start..], None),
    };
    if let Some(at) = digits.bytes().position(|b| !b.is_ascii_digit()) {
        return Err(Unread::new(UnreadCode::WrongCharacter, start + at));
    }
    if digits.len() != length {
        return Err(Unread::new(
            UnreadCode::WrongLength,
            start + digits.len().min(length),
        ));
    }
    let mut reading = read_digits(digits, start, context)?;
    if let Some(companion) = companion {
        if !input[companion..].starts_with("]e0") {
            return Err(Unread::new(UnreadCode::WrongStructure, companion));
        }
        let identifier = reading.identifier;
        Splitter::new(input, companion + 3, Start::Unmarked, context).split(&mut reading)?;
        associations::check(
            input,
            &reading.elements,
            true,
            context.associations,
            &mut reading.warnings,
        )?;
        add_identity(input, &mut reading, context)?;
        reading.identifier = identifier.or(reading.identifier);
    }
    Ok(reading)
}

/// Reads 8, 12, 13 or 14 digits as a GTIN.
pub(crate) fn read_digits<'a>(
    digits: &'a str,
    at: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let mut reading = Reading::new(Form::Gtin);
    if !check_digit_fits(digits.as_bytes()) {
        if context.check_digits == CheckDigits::Strict {
            return Err(Unread::new(
                UnreadCode::WrongCheckDigit,
                at + digits.len() - 1,
            ));
        }
        reading.warnings.add(Warning::WrongCheckDigit);
    }
    reading.identifier = Identifier::gtin(digits);
    add_gtin_facts(&mut reading);
    Ok(reading)
}

/// The UPC-A number behind eight digits of a UPC-E symbol, when its check digit fits (GS1
/// General Specifications 5.2: zero suppression).
pub(crate) fn expand_upc_e(digits: &str) -> Option<[u8; 12]> {
    let [system @ (b'0' | b'1'), a, b, c, d, e, f, check] = *digits.as_bytes() else {
        return None;
    };
    let z = b'0';
    let (maker, item) = match f {
        b'0'..=b'2' => ([a, b, f, z, z], [z, z, c, d, e]),
        b'3' => ([a, b, c, z, z], [z, z, z, d, e]),
        b'4' => ([a, b, c, d, z], [z, z, z, z, e]),
        b'5'..=b'9' => ([a, b, c, d, e], [z, z, z, z, f]),
        _ => return None,
    };
    let mut upc_a = [system; 12];
    upc_a[1..6].copy_from_slice(&maker);
    upc_a[6..11].copy_from_slice(&item);
    upc_a[11] = check;
    check_digit_fits(&upc_a).then_some(upc_a)
}
