//! GS1 element strings inside a text: `(01)00844505000772(10)122927(17)310301`.

use jiff::civil::Date;
use lotwarden_codes::full_year;

use super::dates::PrintedDate;

/// One element.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Element<'a> {
    /// AI (01): 14 digits.
    Gtin(&'a str),
    /// AI (10).
    Lot(&'a str),
    /// AI (21).
    Serial(&'a str),
    /// AI (17).
    Expiry(PrintedDate),
    /// Another AI of a label, or one whose value does not fit.
    Other(&'a str),
}

/// The element whose opening bracket is at `start`, where its value begins, and the byte behind
/// it. Only the AIs of device and drug labels. `(10)` before a space is a count, unless the
/// element goes on a string (`goes_on`).
pub(super) fn element_at(
    text: &str,
    start: usize,
    goes_on: bool,
    today: Date,
) -> Option<(Element<'_>, usize, usize)> {
    let rest = text.get(start..)?;
    let ai = rest.strip_prefix('(')?.get(..2)?;
    if !rest.get(3..)?.starts_with(')') {
        return None;
    }
    let mut at = start + 4;
    if ai == "01" {
        at += spaces(text, at);
        let digits = text.get(at..at + 14)?;
        let whole = digits.bytes().all(|b| b.is_ascii_digit())
            && !text[at + 14..].starts_with(|c: char| c.is_ascii_digit());
        return whole.then_some((Element::Gtin(digits), at, at + 14));
    }
    if !matches!(ai, "10" | "11" | "17" | "21") {
        return None;
    }
    if goes_on {
        at += spaces(text, at);
    }
    let value = value(text, at);
    if value.is_empty() {
        return None;
    }
    let element = match ai {
        "10" => Element::Lot(value),
        "21" => Element::Serial(value),
        "17" => short_date(value, today).map_or(Element::Other(value), Element::Expiry),
        _ => Element::Other(value),
    };
    Some((element, at, at + value.len()))
}

fn spaces(text: &str, at: usize) -> usize {
    usize::from(text[at..].starts_with(' '))
}

fn value(text: &str, at: usize) -> &str {
    let rest = &text[at..];
    let end = rest.find(|c: char| c.is_whitespace() || matches!(c, '(' | ')' | ',' | ';'));
    rest[..end.unwrap_or(rest.len())].trim_end_matches('.')
}

/// YYMMDD; day 00 is the month's last (GS1 General Specifications 3.4).
fn short_date(value: &str, today: Date) -> Option<PrintedDate> {
    if value.len() != 6 || !value.bytes().all(|b| b.is_ascii_digit()) {
        return None;
    }
    let year = full_year(value[..2].parse().ok()?, today);
    let month = value[2..4].parse().ok()?;
    match value[4..].parse().ok()? {
        0 => Some(PrintedDate::Month(
            Date::new(year, month, 1).ok()?.last_of_month(),
        )),
        day => Some(PrintedDate::Day(Date::new(year, month, day).ok()?)),
    }
}
