//! What a field's value has to be.

use std::str::FromStr;

use jiff::civil::{Date, DateTime};
use rust_decimal::Decimal;
use serde_json::Value;

use super::fault::FaultCode;
use crate::NotAWord;

/// Why a value is not what its field takes.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Wrong {
    pub code: FaultCode,
    pub message: String,
}

pub fn wrong<T>(code: FaultCode, message: impl Into<String>) -> Result<T, Wrong> {
    Err(Wrong {
        code,
        message: message.into(),
    })
}

/// A number, or a decimal in a string, from one limit to another, both included.
///
/// Limits are decimal texts, such as `"0.05"`.
pub fn number(
    least: &'static str,
    most: &'static str,
) -> impl Fn(&Value) -> Result<Decimal, Wrong> {
    move |value| {
        let number = any_number(value)?;
        let within = |limit: &str, below: bool| match Decimal::from_str(limit) {
            Ok(limit) if below => limit <= number,
            Ok(limit) => number <= limit,
            Err(_) => false,
        };
        if within(least, true) && within(most, false) {
            Ok(number)
        } else {
            wrong(
                FaultCode::OutOfRange,
                format!("{} is not from {least} to {most}", number.normalize()),
            )
        }
    }
}

/// A whole number from one limit to another, both included.
pub fn count(least: u64, most: u64) -> impl Fn(&Value) -> Result<u64, Wrong> {
    move |value| {
        let number = any_number(value)?;
        if !number.fract().is_zero() {
            return wrong(
                FaultCode::NotAWholeNumber,
                format!("{number} is not a whole number"),
            );
        }
        match u64::try_from(number) {
            Ok(whole) if (least..=most).contains(&whole) => Ok(whole),
            _ => wrong(
                FaultCode::OutOfRange,
                format!("{} is not from {least} to {most}", number.normalize()),
            ),
        }
    }
}

fn any_number(value: &Value) -> Result<Decimal, Wrong> {
    let text = match value {
        Value::Number(number) => number.to_string(),
        Value::String(text) => text.trim().to_owned(),
        _ => String::new(),
    };
    // Decimal would also take 1_000.
    let plain = text
        .bytes()
        .all(|byte| byte.is_ascii_digit() || b"+-.eE".contains(&byte));
    match Decimal::from_str(&text).or_else(|_| Decimal::from_scientific(&text)) {
        Ok(number) if plain => Ok(number),
        _ if value.is_number() => wrong(
            FaultCode::OutOfRange,
            format!("{text} is too large or too small"),
        ),
        _ => wrong(
            FaultCode::NotANumber,
            "give a number, or a decimal in a string such as \"12.5\"",
        ),
    }
}

/// A day as YYYY-MM-DD.
pub fn day(value: &Value) -> Result<Date, Wrong> {
    let text = value.as_str().unwrap_or_default();
    match Date::from_str(text) {
        Ok(date) if text.len() == 10 => Ok(date),
        _ => wrong(
            FaultCode::NotADate,
            "give a day of the calendar as YYYY-MM-DD",
        ),
    }
}

/// A day as YYYY-MM-DD from the first of one year to the last of another.
pub fn day_between(first_year: i16, last_year: i16) -> impl Fn(&Value) -> Result<Date, Wrong> {
    move |value| {
        let date = day(value)?;
        if (first_year..=last_year).contains(&date.year()) {
            Ok(date)
        } else {
            wrong(
                FaultCode::OutOfRange,
                format!("{date} is not in the years {first_year} to {last_year}"),
            )
        }
    }
}

/// A label's last day: YYYY-MM-DD, or YYYY-MM for the last day of the month.
pub fn outdate(value: &Value) -> Result<Date, Wrong> {
    let text = value.as_str().unwrap_or_default();
    let of_month = || {
        let (year, month) = text.split_once('-')?;
        if year.len() != 4 || month.len() != 2 {
            return None;
        }
        crate::mixes::last_day_of_label(year.parse().ok()?, month.parse().ok()?)
    };
    day(value).or_else(|_| {
        of_month().map_or_else(
            || {
                wrong(
                    FaultCode::NotADate,
                    "give the printed day as YYYY-MM-DD, or YYYY-MM where no day is printed",
                )
            },
            Ok,
        )
    })
}

/// A local day and time as YYYY-MM-DDThh:mm, without an offset.
pub fn local_time(value: &Value) -> Result<DateTime, Wrong> {
    let text = value.as_str().unwrap_or_default();
    // DateTime itself drops an offset, and would turn 07:40 elsewhere into 07:40 here.
    let plain = text.get(10..).is_some_and(|time| {
        !time.is_empty()
            && !time.contains(|c: char| {
                c != 'T' && c != ' ' && c != ':' && c != '.' && !c.is_ascii_digit()
            })
    });
    match DateTime::from_str(text) {
        Ok(time) if plain => Ok(time),
        _ => wrong(
            FaultCode::NotATime,
            "give the facility's local day and time as YYYY-MM-DDThh:mm, without an offset",
        ),
    }
}

/// A text that is not empty.
pub fn text(value: &Value) -> Result<String, Wrong> {
    match value.as_str().map(str::trim) {
        Some(text) if !text.is_empty() => Ok(text.to_owned()),
        _ => wrong(FaultCode::NotAText, "give a text that is not empty"),
    }
}

/// true or false.
pub fn flag(value: &Value) -> Result<bool, Wrong> {
    value.as_bool().map_or_else(
        || wrong(FaultCode::NotTrueOrFalse, "give true or false"),
        Ok,
    )
}

/// One of an enum's words.
pub fn word<T: FromStr<Err = NotAWord>>(value: &Value) -> Result<T, Wrong> {
    T::from_str(value.as_str().unwrap_or_default())
        .or_else(|error| wrong(FaultCode::UnknownWord, error.to_string()))
}
