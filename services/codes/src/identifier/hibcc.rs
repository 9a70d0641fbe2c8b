//! HIBCC codes as catalogues write them: with or without `+` and check character.

use super::{Agency, Code, Identifier, IdentifierFault, ParsedIdentifier};
use crate::hibc;

/// Reads LIC, PCN and U/M. Three of four HIBCC codes in the public device database end in
/// the check character although its guide says to leave it out, so both are understood.
pub(super) fn parse(text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
    let text = text
        .strip_prefix('*')
        .and_then(|t| t.strip_suffix('*'))
        .unwrap_or(text);
    let (flagged, code) = match text.strip_prefix('+') {
        Some(rest) => (true, rest),
        None => (false, text),
    };
    if !code.is_ascii() {
        return Err(IdentifierFault::WrongCharacter);
    }
    if code.len() < 6 {
        return Err(IdentifierFault::WrongLength);
    }
    let (shorter, last) = code.split_at(code.len() - 1);
    // A printed space shows as an underscore; a typed one goes with the spaces around the code.
    let check_fits = hibc::check_character(&["+", shorter])
        .is_some_and(|c| last.as_bytes() == [c] || (c, last) == (b' ', "_"));
    let check_trimmed = hibc::check_character(&["+", code]) == Some(b' ');
    let with_check = is_code(shorter);
    let without_check = is_code(code);
    match (check_fits && with_check, without_check) {
        (true, false) => found(shorter, None, None),
        // A typed or scanned label begins with `+` and always ends in the check character.
        (true, true) if flagged => found(shorter, None, None),
        (true, true) => found(shorter, None, Some(code)),
        (false, true) => found(
            code,
            (flagged && !check_trimmed).then_some(IdentifierFault::WrongCheckDigit),
            None,
        ),
        (false, false) if with_check => {
            found(shorter, Some(IdentifierFault::WrongCheckDigit), None)
        }
        (false, false) if code.len() > 24 => Err(IdentifierFault::WrongLength),
        (false, false) => Err(IdentifierFault::WrongCharacter),
    }
}

fn is_code(code: &str) -> bool {
    hibc::split_primary(code).is_some()
}

fn found(
    code: &str,
    fault: Option<IdentifierFault>,
    also: Option<&str>,
) -> Result<ParsedIdentifier, IdentifierFault> {
    let identifier = |code: &str| {
        Code::new(&[code]).map(|code| Identifier {
            agency: Agency::Hibcc,
            code,
        })
    };
    Ok(ParsedIdentifier {
        identifier: identifier(code).ok_or(IdentifierFault::WrongLength)?,
        fault,
        also: also.and_then(identifier),
    })
}
