//! Donation identification numbers (ICCBBA ST-001).

use crate::{Unread, UnreadCode};

/// Whether a donation number begins here: `=` whose next character is already data.
pub(super) fn begins(text: &str) -> bool {
    matches!(text.as_bytes(), [b'=', second, ..] if second.is_ascii_digit() || second.is_ascii_uppercase())
}

/// A facility number: its letters leave out O.
pub(super) fn check_facility(facility: &str, at: usize) -> Result<(), Unread> {
    match facility.find('O') {
        Some(wrong) => Err(Unread::new(UnreadCode::WrongCharacter, at + wrong)),
        None => Ok(()),
    }
}

/// Checks 13 characters and two flags. Answers whether the strict form holds: facility of
/// letter or digit and four more, year of two digits, number of six digits. Flags 60 to 96
/// are a check value over the 13 characters, ISO/IEC 7064 mod 37-2, plus 60.
pub(super) fn check(value: &str, at: usize) -> Result<bool, Unread> {
    let (number, flags) = value.split_at(13);
    check_facility(&number[..5], at)?;
    let strict = number[5..].bytes().all(|b| b.is_ascii_digit());
    if let Ok(flag) = flags.parse::<u32>()
        && (60..=96).contains(&flag)
        && flag - 60 != check_value(number)
    {
        return Err(Unread::new(UnreadCode::WrongCheckDigit, at + 13));
    }
    Ok(strict)
}

/// ISO/IEC 7064 mod 37-2: the value of the check character.
fn check_value(number: &str) -> u32 {
    let sum = number
        .bytes()
        .fold(0, |sum, b| (sum + character_value(b)) * 2 % 37);
    (38 - sum) % 37
}

fn character_value(byte: u8) -> u32 {
    match byte {
        b'0'..=b'9' => u32::from(byte - b'0'),
        _ => u32::from(byte.saturating_sub(b'A')) + 10,
    }
}
