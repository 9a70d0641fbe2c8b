//! Dates and times inside values.

use super::{Fault, digits_only};
use crate::UnreadCode;

const DATE: UnreadCode = UnreadCode::ImpossibleDate;

/// A date whose year has this many digits; day 00, where allowed, means the month's end.
pub(super) fn date(value: &[u8], year_digits: usize, month_only: bool) -> Result<(), Fault> {
    if value.len() != year_digits + 4 {
        return Err(Fault::length(0));
    }
    digits_only(value)?;
    let year = number(&value[..year_digits]);
    let month = number(&value[year_digits..year_digits + 2]);
    let day = number(&value[year_digits + 2..]);
    if !(1..=12).contains(&month) {
        return Err(Fault {
            code: DATE,
            at: year_digits,
        });
    }
    let fits = match day {
        0 => month_only,
        _ => day <= days_in_month(year, month),
    };
    fits.then_some(()).ok_or(Fault {
        code: DATE,
        at: year_digits + 2,
    })
}

/// Days of a month; a two-digit year is taken as one of 1901 to 2099, which the resolved
/// date checks again with its century.
pub(crate) fn days_in_month(year: u32, month: u32) -> u32 {
    match month {
        4 | 6 | 9 | 11 => 30,
        2 if is_leap(year) => 29,
        2 => 28,
        _ => 31,
    }
}

/// Two digits up to a limit: hours, minutes, seconds.
pub(super) fn two_digits(value: &[u8], limit: u32) -> Result<(), Fault> {
    if value.len() != 2 {
        return Err(Fault::length(0));
    }
    digits_only(value)?;
    (number(value) <= limit).then_some(()).ok_or(Fault {
        code: UnreadCode::ImpossibleTime,
        at: 0,
    })
}

/// Hours and minutes.
pub(super) fn hour_minute(value: &[u8]) -> Result<(), Fault> {
    if value.len() != 4 {
        return Err(Fault::length(0));
    }
    digits_only(value)?;
    two_digits(&value[..2], 23)?;
    two_digits(&value[2..], 59).map_err(|fault| fault.after(2))
}

fn is_leap(year: u32) -> bool {
    year.is_multiple_of(4) && (year < 100 || !year.is_multiple_of(100) || year.is_multiple_of(400))
}

fn number(digits: &[u8]) -> u32 {
    digits.iter().fold(0, |n, b| n * 10 + u32::from(b - b'0'))
}
