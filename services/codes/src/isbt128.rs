//! ISBT 128 data structures of device labels (ICCBBA ST-017, ST-001).

mod donation;

use std::borrow::Cow;

use crate::label_date::{LabelDate, digits, ordinal};
use crate::{Agency, Code, Form, Identifier, Reading, Unread, UnreadCode, Warning};

/// Reads one structure, several concatenated ones, or a compound message.
///
/// The donation number is taken as 15 letters and digits with a warning where it breaks
/// its strict form: the FDA's own example has letters in the number part.
pub(crate) fn read_isbt128(input: &str, start: usize) -> Result<Reading<'_>, Unread> {
    let mut reading = Reading::new(Form::Isbt128);
    let mut at = start;
    if input[start..].starts_with("=+") {
        at = compound_header(input, start)?;
        let announced = digits(&input.as_bytes()[start + 2..start + 4]);
        while at < input.len() {
            at = read_structure(input, at, &mut reading)?;
        }
        if announced.and_then(|n| usize::try_from(n).ok()) != Some(reading.elements.len()) {
            return Err(Unread::new(UnreadCode::WrongStructure, start + 2));
        }
        return Ok(reading);
    }
    while at < input.len() {
        at = read_structure(input, at, &mut reading)?;
    }
    Ok(reading)
}

/// `=+` with two digits of count and three of sequence (000, or an RT017 number).
fn compound_header(input: &str, start: usize) -> Result<usize, Unread> {
    let end = start + 7;
    match input.as_bytes().get(start + 2..end) {
        Some(numbers) if numbers.iter().all(u8::is_ascii_digit) => Ok(end),
        _ => Err(Unread::new(UnreadCode::WrongStructure, start + 2)),
    }
}

/// The structures of device labels: data identifier, length of the data, characters.
/// The lot's 18 characters, the serial's 6 and the blood bag forms are ST-017's and the
/// FDA's UDI formats document's.
const STRUCTURES: [(&str, usize); 7] = [
    ("=/", 16),
    ("=,", 6),
    ("=>", 6),
    ("=}", 6),
    ("&,1", 18),
    ("=)", 10),
    ("&)", 10),
];

/// Reads the structure at this byte and gives where the next begins.
fn read_structure<'a>(
    input: &'a str,
    at: usize,
    reading: &mut Reading<'a>,
) -> Result<usize, Unread> {
    if reading.elements.len() == 64 {
        return Err(Unread::new(UnreadCode::TooManyElements, at));
    }
    let rest = &input[at..];
    let listed = STRUCTURES.iter().find(|(key, _)| rest.starts_with(key));
    let (key, length) = match listed {
        Some((key, length)) => (&rest[..key.len()], *length),
        None if donation::begins(rest) => (&rest[..1], 15),
        None => return Err(Unread::new(UnreadCode::UnknownElement, at)),
    };
    let data_at = at + key.len();
    let value = input
        .get(data_at..data_at + length)
        .ok_or(Unread::new(UnreadCode::WrongLength, input.len()))?;
    let legal = |b: u8| b.is_ascii_digit() || b.is_ascii_uppercase() || (key == "&,1" && b == b'-');
    if let Some(wrong) = value.bytes().position(|b| !legal(b)) {
        return Err(Unread::new(UnreadCode::WrongCharacter, data_at + wrong));
    }
    if let Some(earlier) = reading.elements.get(key) {
        if earlier != value {
            return Err(Unread::new(UnreadCode::RepeatedDifferently, at));
        }
        reading.warnings.add(Warning::ElementRepeated);
    }
    match key {
        "=/" => {
            donation::check_facility(&value[..5], data_at)?;
            set_identifier(reading, value);
        }
        "=)" => set_identifier(reading, value),
        "=," => reading.serial = Some(Cow::Borrowed(value)),
        "=>" => reading.expires_on = Some(date(value, data_at)?),
        "=}" => reading.manufactured_on = Some(date(value, data_at)?),
        "&,1" | "&)" => reading.lot = Some(Cow::Borrowed(value)),
        _ => {
            if !donation::check(value, data_at)? {
                reading.warnings.add(Warning::DonationNumberNotStrict);
            }
        }
    }
    reading.elements.push(key, value);
    Ok(data_at + length)
}

fn set_identifier(reading: &mut Reading<'_>, code: &str) {
    reading.identifier = Code::new(&[code]).map(|code| Identifier {
        agency: Agency::Iccbba,
        code,
    });
}

/// cYYJJJ: century digit (0 is the 2000s; inferred by the sources too), year, day of the
/// year.
fn date(value: &str, at: usize) -> Result<LabelDate, Unread> {
    let bytes = value.as_bytes();
    let found = digits(&bytes[..3])
        .zip(digits(&bytes[3..]))
        .and_then(|(year, day)| ordinal(2000 + year, day));
    found
        .map(LabelDate::day)
        .ok_or(Unread::new(UnreadCode::ImpossibleDate, at))
}
