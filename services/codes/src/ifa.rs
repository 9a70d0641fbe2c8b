//! ISO/IEC 15434 messages: format 06 with data identifiers (IFA pharmacy labels), format
//! 05 with GS1 elements.

mod ppn;

pub(crate) use ppn::check_ppn;

use std::borrow::Cow;

use crate::gs1::element_string::Splitter;
use crate::gs1::{Start, add_gtin_facts, add_identity, associations};
use crate::label_date::{long, short};
use crate::{
    Agency, CheckDigits, Code, Context, Form, Identifier, IdentifierFault, Precision, Reading,
    Unread, UnreadCode, Warning, gtin, wedge,
};

/// What every message begins with, before the record separator.
pub(crate) const HEADER: &str = "[)>";
/// RS and EOT as sent, as pictures, and as scanners spell them for keyboards.
const RECORD: [&str; 5] = ["\u{1E}", "\u{241E}", "{RS}", "[RS]", "\\x1E"];
const END: [&str; 5] = ["\u{4}", "\u{2404}", "{EOT}", "[EOT]", "\\x04"];

/// Reads a message. The trailer RS EOT may be missing one or both of its characters,
/// because keyboards drop them; that is a warning.
pub(crate) fn read_message<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let fault = |at| Unread::new(UnreadCode::WrongStructure, at);
    let header = start + HEADER.len();
    let record = RECORD
        .iter()
        .find(|r| input[header..].starts_with(**r))
        .ok_or(fault(header))?;
    let format = header + record.len();
    let (body, complete) = strip_trailer(&input[format..]);
    let (number, data) = body.split_at_checked(2).ok_or(fault(format))?;
    let separator = separator(data).ok_or(fault(format + 2))?;
    let (end, data) = (format + body.len(), format + 2 + separator);
    let mut reading = match number {
        "05" => read_elements(&input[..end], data, context)?,
        "06" => read_identifiers(&input[..end], data, context)?,
        _ => return Err(fault(format)),
    };
    if !complete {
        reading.warnings.add(Warning::TrailerMissing);
    }
    Ok(reading)
}

/// The message without RS EOT, and whether both were there.
fn strip_trailer(message: &str) -> (&str, bool) {
    let strip = |text: &'_ str, spellings: &[&str]| {
        spellings
            .iter()
            .find_map(|s| text.strip_suffix(s).map(str::len))
    };
    let ended = strip(message, &END);
    let body = &message[..ended.unwrap_or(message.len())];
    let recorded = strip(body, &RECORD);
    (
        &body[..recorded.unwrap_or(body.len())],
        ended.is_some() && recorded.is_some(),
    )
}

/// The length of the group separator that begins here.
fn separator(text: &str) -> Option<usize> {
    if text.starts_with('\u{1D}') {
        Some(1)
    } else {
        wedge::spelt(text)
    }
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
    while at < input.len() {
        let end = (at..input.len()).find(|i| input.get(*i..).and_then(separator).is_some());
        let end = end.unwrap_or(input.len());
        if reading.elements.len() == 64 {
            return Err(Unread::new(UnreadCode::TooManyElements, at));
        }
        if at < end {
            read_field(&input[at..end], at, &mut reading, context)?;
        }
        at = end + separator(&input[end..]).unwrap_or(0);
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
            let date = short(value.as_bytes(), context.date)
                .filter(|_| value.len() == 6)
                .ok_or(Unread::new(UnreadCode::ImpossibleDate, value_at))?;
            if date.precision == Precision::Month {
                reading.warnings.add(Warning::DayNotOnLabel);
            }
            reading.expires_on = Some(date);
        }
        "16D" => {
            let date =
                long(value.as_bytes()).ok_or(Unread::new(UnreadCode::ImpossibleDate, value_at))?;
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
/// hyphen, full stop and underscore; other characters are found on labels).
fn text(value: &str, at: usize) -> Result<Cow<'_, str>, Unread> {
    if let Some(wrong) = value.bytes().position(|b| !b.is_ascii_graphic()) {
        return Err(Unread::new(UnreadCode::WrongCharacter, at + wrong));
    }
    if value.len() > 20 {
        return Err(Unread::new(UnreadCode::WrongLength, at + 20));
    }
    Ok(Cow::Borrowed(value))
}
