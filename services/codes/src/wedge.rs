//! What keyboards and scanners do to the GS1 separator.

use jiff::civil::Date;

use crate::gs1::lint::days_in_month;
use crate::{Elements, Separators};

/// Spellings whose first character no GS1 value can hold, so that they are always
/// understood; the longest that fits counts.
const SPELT: [&str; 9] = [
    "{GS}", "[GS]", "\\x1D", "\\x1d", "\\u001D", "\\u001d", "^]", "\u{241D}", "\u{2194}",
];

/// The length of an always-understood spelling at the start of the text, `^` included.
pub(crate) fn spelt(text: &str) -> Option<usize> {
    let spelling = SPELT
        .iter()
        .find(|s| text.starts_with(**s))
        .map(|s| s.len());
    spelling.or(text.starts_with('^').then_some(1))
}

/// The length of a spelling configured for this station at the start of the text.
pub(crate) fn configured(text: &str, separators: &Separators) -> Option<usize> {
    separators
        .configured()
        .iter()
        .find(|s| text.starts_with(s.as_ref()))
        .map(|s| s.len())
}

/// Whether a lot or serial looks as if a lost separator had glued the next element to it.
///
/// Only a suspicion: `10LOT17271231` is legal. Looked for are an expiry (17 and a real
/// date within 20 years) at the end, the missing one of lot and serial inside with at
/// least three characters on both sides, and separators spelt in legal characters. The
/// lengths keep ordinary lots quiet (common practice, no source).
pub(crate) fn looks_glued(elements: &Elements<'_>, today: Date) -> bool {
    elements.iter().any(|(key, value)| match key {
        "10" => {
            spelt_legally(value)
                || (elements.get("17").is_none() && ends_in_date(value, today))
                || (elements.get("21").is_none() && holds(value, b"21"))
        }
        "21" => {
            spelt_legally(value)
                || (elements.get("17").is_none() && ends_in_date(value, today))
                || (elements.get("10").is_none() && holds(value, b"10"))
        }
        _ => false,
    })
}

fn spelt_legally(value: &str) -> bool {
    ["<GS>", "%1D", "%1d"].iter().any(|s| value.contains(s))
}

fn holds(value: &str, identifier: &[u8; 2]) -> bool {
    let value = value.as_bytes();
    value.len() >= 8
        && value[3..value.len() - 3]
            .windows(2)
            .any(|w| w == identifier)
}

fn ends_in_date(value: &str, today: Date) -> bool {
    let value = value.as_bytes();
    let Some(start) = value.len().checked_sub(8).filter(|start| *start > 0) else {
        return false;
    };
    let tail = &value[start..];
    if !tail.starts_with(b"17") || !tail.iter().all(u8::is_ascii_digit) {
        return false;
    }
    let two = |at: usize| u32::from(tail[at] - b'0') * 10 + u32::from(tail[at + 1] - b'0');
    let (year, month, day) = (two(2), two(4), two(6));
    let this_year = u32::try_from(today.year().rem_euclid(100)).unwrap_or_default();
    let years_away = (year + 100 - this_year) % 100;
    let near = years_away <= 20 || years_away >= 80;
    near && (1..=12).contains(&month) && day <= days_in_month(year, month)
}
