//! HIBC labels (ANSI/HIBC 2.6).

mod secondary;

use crate::{
    Agency, CheckDigits, Code, Context, Form, Identifier, Reading, Unread, UnreadCode, Warning,
};

/// The check character's alphabet; a character's position is its value.
const ALPHABET: &[u8; 43] = b"0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";

/// Reads a primary, secondary or concatenated label that begins with `+` at this byte.
pub(crate) fn read_hibc<'a>(
    input: &'a str,
    start: usize,
    context: &Context,
) -> Result<Reading<'a>, Unread> {
    let label = &input[start..];
    if let Some(at) = label.bytes().position(|b| value(b).is_none()) {
        return Err(Unread::new(UnreadCode::WrongCharacter, start + at));
    }
    if label.len() < 4 {
        return Err(Unread::new(UnreadCode::WrongLength, input.len()));
    }
    let (checked, check) = label.split_at(label.len() - 1);
    let fits = check_character(&[checked])
        .zip(check.bytes().next())
        .is_some_and(|(right, found)| value(right) == value(found));
    let mut reading = Reading::new(Form::HibcPrimary);
    if !fits && check == " " {
        // A keyboard's trailing space, or a check character that is one: the sum tells.
        return read_hibc(&input[..input.len() - 1], start, context);
    }
    if !fits {
        if context.check_digits == CheckDigits::Strict {
            return Err(Unread::new(UnreadCode::WrongCheckDigit, input.len() - 1));
        }
        reading.warnings.add(Warning::WrongCheckDigit);
    }
    if label.as_bytes()[1].is_ascii_uppercase() {
        read_primary(input, start, &mut reading, context)?;
    } else {
        // The link is the last character before the check character and may be any of the
        // alphabet, a slash included, so it goes before the label is cut at slashes.
        let link = input.len() - 2;
        reading.form = Form::HibcSecondary;
        reading.link = input[link..].chars().next();
        secondary::read_segments(&input[..link], start + 1, &mut reading, context)?;
    }
    Ok(reading)
}

/// Labeler, product and unit of measure, then what follows after slashes.
fn read_primary<'a>(
    input: &'a str,
    start: usize,
    reading: &mut Reading<'a>,
    context: &Context,
) -> Result<(), Unread> {
    let body = &input[start + 1..input.len() - 1];
    let (primary, rest) = match body.split_once('/') {
        Some((primary, _)) => (primary, Some(start + 2 + primary.len())),
        None => (body, None),
    };
    split_primary(primary).ok_or(Unread::new(UnreadCode::WrongStructure, start + 1))?;
    reading.identifier = Code::new(&[primary]).map(|code| Identifier {
        agency: Agency::Hibcc,
        code,
    });
    reading.elements.push(&input[start..=start], primary);
    if let Some(rest) = rest {
        reading.form = Form::HibcConcatenated;
        secondary::read_segments(&input[..input.len() - 1], rest, reading, context)?;
    }
    Ok(())
}

/// The modulo 43 check character of the pieces taken together, or nothing when one holds
/// a character outside the alphabet.
pub(crate) fn check_character(pieces: &[&str]) -> Option<u8> {
    let mut sum = 0;
    for byte in pieces.iter().flat_map(|p| p.bytes()) {
        sum += value(byte)?;
    }
    ALPHABET.get(sum % 43).copied()
}

fn value(byte: u8) -> Option<usize> {
    match byte {
        b'0'..=b'9' => Some(usize::from(byte - b'0')),
        b'A'..=b'Z' => Some(usize::from(byte - b'A') + 10),
        // A printed space shows as an underscore.
        b'_' => Some(38),
        _ => ALPHABET.iter().position(|a| *a == byte),
    }
}

/// Labeler code, product code and unit of measure of a primary label's data.
pub(crate) fn split_primary(code: &str) -> Option<(&str, &str, u8)> {
    let (lic, rest) = code.split_at_checked(4)?;
    let (pcn, um) = rest.split_at_checked(rest.len().checked_sub(1)?)?;
    let alnum = |b: &u8| b.is_ascii_uppercase() || b.is_ascii_digit();
    let lic_fits = lic.as_bytes()[0].is_ascii_uppercase() && lic.as_bytes().iter().all(alnum);
    let pcn_fits = (1..=18).contains(&pcn.len()) && pcn.as_bytes().iter().all(alnum);
    let um = um.bytes().next().filter(u8::is_ascii_digit)?;
    (lic_fits && pcn_fits).then_some((lic, pcn, um - b'0'))
}
