//! ISO/IEC 15434 messages: format 06 with data identifiers (IFA pharmacy labels), format
//! 05 with GS1 elements.

use std::borrow::Cow;

use crate::gs1::element_string::Splitter;
use crate::gs1::{Start, add_gtin_facts, add_identity, associations};
use crate::label_date::{LabelDate, civil, digits, full_year};
use crate::{
    Agency, CheckDigits, Code, Context, Form, Identifier, IdentifierFault, Precision, Reading,
    Unread, UnreadCode, Warning, gtin,
};

/// What every message begins with.
pub(crate) const HEADER: &str = "[)>\u{1E}";

/// Reads a message. The trailer RS EOT may be missing one or both of its characters,
/// because keyboards drop them; that is a warning.
pub(crate) fn read_message<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let fault = |at| Unread::new(UnreadCode::WrongStructure, at);
    let body = start + HEADER.len();
    let complete = input.ends_with("\u{1E}\u{4}");
    let end = input.trim_end_matches(['\u{1E}', '\u{4}']).len().max(body);
    let separator = input.get(body + 2..body + 3);
    if separator != Some("\u{1D}") {
        return Err(fault(body));
    }
    let mut reading = match &input[body..body + 2] {
        "05" => read_elements(&input[..end], body + 3, context)?,
        "06" => read_identifiers(&input[..end], body + 3, context)?,
        _ => return Err(fault(body)),
    };
    if !complete {
        reading.warnings.add(Warning::TrailerMissing);
    }
    Ok(reading)
}

fn read_elements<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let mut reading = Reading::new(Form::Iso15434Format05);
    Splitter::new(input, start, Start::Fnc1, context).split(&mut reading)?;
    associations::check(
        input,
        &reading.elements,
        false,
        context.associations,
        &mut reading.warnings,
    )?;
    add_identity(input, &mut reading, context)?;
    Ok(reading)
}

/// Data identifiers (ANSI MH10.8.2): digits and a letter, then the value up to GS.
fn read_identifiers<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let mut reading = Reading::new(Form::Iso15434Format06);
    let mut at = start;
    for field in input[start..].split('\u{1D}') {
        if !field.is_empty() {
            if reading.elements.len() == 64 {
                return Err(Unread::new(UnreadCode::TooManyElements, at));
            }
            read_field(field, at, &mut reading, context)?;
        }
        at += field.len() + 1;
    }
    if reading.elements.is_empty() {
        return Err(Unread::new(UnreadCode::Empty, start));
    }
    add_gtin_facts(&mut reading);
    Ok(reading)
}

fn read_field<'a>(
    field: &'a str,
    at: usize,
    reading: &mut Reading<'a>,
    context: &Context,
) -> Result<(), Unread> {
    let numbers = field.bytes().take_while(u8::is_ascii_digit).count();
    let letter = field
        .as_bytes()
        .get(numbers)
        .filter(|b| b.is_ascii_uppercase() && numbers <= 3);
    letter.ok_or(Unread::new(UnreadCode::UnknownElement, at))?;
    let (key, value) = field.split_at(numbers + 1);
    let value_at = at + key.len();
    if value.is_empty() {
        return Err(Unread::new(UnreadCode::EmptyElement, value_at));
    }
    if let Some(earlier) = reading.elements.get(key) {
        if earlier != value {
            return Err(Unread::new(UnreadCode::RepeatedDifferently, at));
        }
        reading.warnings.add(Warning::ElementRepeated);
    }
    match key {
        "9N" | "8P" => set_product(key, value, value_at, reading, context)?,
        "1T" => reading.lot = Some(text(value, value_at)?),
        "S" => reading.serial = Some(text(value, value_at)?),
        "D" => {
            let date = short_date(value, context)
                .ok_or(Unread::new(UnreadCode::ImpossibleDate, value_at))?;
            if date.precision == Precision::Month {
                reading.warnings.add(Warning::DayNotOnLabel);
            }
            reading.expires_on = Some(date);
        }
        "16D" => {
            let date = long_date(value).ok_or(Unread::new(UnreadCode::ImpossibleDate, value_at))?;
            reading.manufactured_on = Some(date);
        }
        _ => {}
    }
    reading.elements.push(key, value);
    Ok(())
}

/// A PPN (9N) or a GTIN (8P), never both (IFA, specification PPN-Code).
fn set_product(
    key: &str,
    value: &str,
    at: usize,
    reading: &mut Reading<'_>,
    context: &Context,
) -> Result<(), Unread> {
    let other = if key == "9N" { "8P" } else { "9N" };
    if reading.elements.get(other).is_some() {
        return Err(Unread::new(UnreadCode::ForbiddenPair, at));
    }
    let fault = if key == "9N" {
        check_ppn(value.as_bytes())
    } else if !matches!(value.len(), 8 | 12..=14) {
        Err(IdentifierFault::WrongLength)
    } else if !value.bytes().all(|b| b.is_ascii_digit()) {
        Err(IdentifierFault::WrongCharacter)
    } else {
        gtin::check_digit_fits(value.as_bytes())
            .then_some(())
            .ok_or(IdentifierFault::WrongCheckDigit)
    };
    match fault {
        Ok(()) => {}
        Err(IdentifierFault::WrongCheckDigit) if context.check_digits == CheckDigits::Tolerate => {
            reading.warnings.add(Warning::WrongCheckDigit);
        }
        Err(IdentifierFault::WrongCheckDigit) => {
            return Err(Unread::new(
                UnreadCode::WrongCheckDigit,
                at + value.len() - 1,
            ));
        }
        Err(IdentifierFault::WrongLength) => {
            return Err(Unread::new(UnreadCode::WrongLength, at + value.len()));
        }
        Err(_) => return Err(Unread::new(UnreadCode::WrongCharacter, at)),
    }
    reading.identifier = if key == "8P" {
        Identifier::gtin(value)
    } else {
        Code::new(&[value]).map(|code| Identifier {
            agency: Agency::Ifa,
            code,
        })
    };
    Ok(())
}

/// Lot or serial: up to 20 printable ASCII characters without space (IFA: letters, digits,
/// hyphen, full stop, underscore are recommended; others are found on labels).
fn text(value: &str, at: usize) -> Result<Cow<'_, str>, Unread> {
    if let Some(wrong) = value.bytes().position(|b| !b.is_ascii_graphic()) {
        return Err(Unread::new(UnreadCode::WrongCharacter, at + wrong));
    }
    if value.len() > 20 {
        return Err(Unread::new(UnreadCode::WrongLength, at + 20));
    }
    Ok(Cow::Borrowed(value))
}

/// YYMMDD; day 00 is the month's last day (from memory, as on GS1 labels).
fn short_date(value: &str, context: &Context) -> Option<LabelDate> {
    let bytes = value.as_bytes();
    if bytes.len() != 6 {
        return None;
    }
    let year = full_year(digits(&bytes[..2])?, context.date);
    let month = digits(&bytes[2..4])?;
    match digits(&bytes[4..])? {
        0 => civil(year, month, 1).map(LabelDate::month),
        day => civil(year, month, day).map(LabelDate::day),
    }
}

/// YYYYMMDD.
fn long_date(value: &str) -> Option<LabelDate> {
    let bytes = value.as_bytes();
    if bytes.len() != 8 {
        return None;
    }
    civil(
        digits(&bytes[..4])?,
        digits(&bytes[4..6])?,
        digits(&bytes[6..])?,
    )
    .map(LabelDate::day)
}

/// Checks a Pharmacy Product Number: two digits of agency code, the product code, two
/// check digits: sum of character codes weighted 2, 3, 4, ... modulo 97 (IFA, PPN
/// specification).
pub(crate) fn check_ppn(code: &[u8]) -> Result<(), IdentifierFault> {
    if !(5..=22).contains(&code.len()) {
        return Err(IdentifierFault::WrongLength);
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
