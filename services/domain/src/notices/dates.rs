//! Dates as notices print them.

use jiff::civil::Date;
use lotwarden_codes::full_year;
use std::fmt;

/// A date as far as the text gives it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum PrintedDate {
    /// Year and month; the date is the month's last day.
    Month(Date),
    /// Year, month and day.
    Day(Date),
}

impl PrintedDate {
    /// The first day it covers.
    #[must_use]
    pub fn first(self) -> Date {
        match self {
            Self::Month(date) => date.first_of_month(),
            Self::Day(date) => date,
        }
    }

    /// The last day it covers: of a month its last, because an item is usable through the end of
    /// what its label says.
    #[must_use]
    pub fn last(self) -> Date {
        match self {
            Self::Month(date) | Self::Day(date) => date,
        }
    }
}

impl fmt::Display for PrintedDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Month(date) => write!(f, "{:04}-{:02}", date.year(), date.month()),
            Self::Day(date) => write!(f, "{date}"),
        }
    }
}

/// The days between which an item's expiry lies; an end that is missing is open.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Expiry {
    /// The one date the text prints, when it prints one.
    pub printed: Option<PrintedDate>,
    /// The first day.
    pub from: Option<Date>,
    /// The last day.
    pub to: Option<Date>,
}

impl Expiry {
    /// The days of one printed date.
    #[must_use]
    pub fn on(date: PrintedDate) -> Self {
        Self {
            printed: Some(date),
            from: Some(date.first()),
            to: Some(date.last()),
        }
    }

    /// From the earlier date's first day to the later one's last, in whichever order they stand.
    #[must_use]
    pub fn between(one: PrintedDate, other: PrintedDate) -> Self {
        Self {
            printed: None,
            from: Some(one.first().min(other.first())),
            to: Some(one.last().max(other.last())),
        }
    }
}

/// How much a date needs to be one.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(super) enum Expected {
    /// A label announces a date: `10/12`, `Aug 16` and `20251231` are dates.
    Yes,
    /// Nothing does: only what can hardly be a lot number is.
    No,
}

const MONTHS: [&str; 12] = [
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

/// The date whose first character is at `start`, and the byte behind it. Numbers are read in the
/// order of FDA's texts, month before day, unless only the other order gives a date.
pub(super) fn date_at(
    text: &str,
    start: usize,
    expected: Expected,
    today: Date,
) -> Option<(PrintedDate, usize)> {
    let mut cursor = Cursor { text, at: start };
    let date = if cursor.peek()?.is_ascii_digit() {
        cursor.number_first(expected, today)?
    } else {
        cursor.month_first(expected, today)?
    };
    cursor.ends().then_some((date, cursor.at))
}

struct Cursor<'a> {
    text: &'a str,
    at: usize,
}

impl Cursor<'_> {
    fn peek(&self) -> Option<u8> {
        self.text.as_bytes().get(self.at).copied()
    }

    /// Up to eight digits; more are no part of a date.
    fn digits(&mut self) -> Option<(i16, usize)> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let length = rest
            .iter()
            .take(9)
            .take_while(|b| b.is_ascii_digit())
            .count();
        if !(1..=4).contains(&length) {
            return None;
        }
        let value = self.text.get(self.at..self.at + length)?.parse().ok()?;
        self.at += length;
        Some((value, length))
    }

    fn month(&mut self) -> Option<i16> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let length = rest
            .iter()
            .take(10)
            .take_while(|b| b.is_ascii_alphabetic())
            .count();
        let word = self
            .text
            .get(self.at..self.at + length)?
            .to_ascii_lowercase();
        let month = MONTHS.iter().position(|name| {
            length >= 3 && (name.starts_with(&word) || (word == "sept" && *name == "september"))
        })?;
        self.at += length;
        i16::try_from(month + 1).ok()
    }

    /// One separator with at most two spaces around it.
    fn separator(&mut self, of: &[u8]) -> Option<u8> {
        let before = self.at;
        self.spaces();
        match self.peek().filter(|b| of.contains(b)) {
            Some(separator) => {
                self.at += 1;
                self.spaces();
                Some(separator)
            }
            None => {
                self.at = before;
                None
            }
        }
    }

    fn spaces(&mut self) -> usize {
        let before = self.at;
        while self.at < before + 2 && self.peek() == Some(b' ') {
            self.at += 1;
        }
        self.at - before
    }

    fn number_first(&mut self, expected: Expected, today: Date) -> Option<PrintedDate> {
        if let Some(date) = self.compact(expected) {
            return Some(date);
        }
        let (first, first_digits) = self.digits()?;
        let behind_first = self.at;
        if self.separator(b"-/. ").is_none() {
            self.spaces();
        }
        if let Some(month) = self.month() {
            let behind_month = self.at;
            let _ = self.separator(b"-/.,").is_some() || self.spaces() > 0;
            return match self.digits() {
                Some((day, 1 | 2)) if first_digits == 4 => civil(first, month, day),
                Some((year, digits @ (2 | 4))) if first_digits <= 2 => {
                    civil(year_of(year, digits, today)?, month, first)
                }
                _ if first_digits == 4 => {
                    self.at = behind_month;
                    month_of(first, month)
                }
                _ => None,
            };
        }
        self.at = behind_first;
        let separator = self.separator(b"-/.")?;
        let (second, second_digits) = self.digits()?;
        let behind_second = self.at;
        if self.separator(b"-/.") == Some(separator)
            && let Some((third, third_digits)) = self.digits()
            && let Some(date) = three((first, first_digits), second, (third, third_digits), today)
        {
            return Some(date);
        }
        self.at = behind_second;
        match (first_digits, second_digits) {
            (4, 1 | 2) => month_of(first, second),
            (1 | 2, 4) => month_of(second, first),
            (1 | 2, 2) if expected == Expected::Yes => month_of(year_of(second, 2, today)?, first),
            _ => None,
        }
    }

    /// `20251231`, `12312025`, `202512` or `122025`, where a date is expected.
    fn compact(&mut self, expected: Expected) -> Option<PrintedDate> {
        let rest = self.text.as_bytes().get(self.at..)?;
        let length = rest
            .iter()
            .take(9)
            .take_while(|b| b.is_ascii_digit())
            .count();
        if expected == Expected::No || !matches!(length, 6 | 8) {
            return None;
        }
        let digits = self.text.get(self.at..self.at + length)?;
        let part = |from: usize, to: usize| digits.get(from..to)?.parse().ok();
        let date = if length == 8 {
            let year_first = civil(part(0, 4)?, part(4, 6)?, part(6, 8)?);
            year_first.or_else(|| civil(part(4, 8)?, part(0, 2)?, part(2, 4)?))
        } else {
            let year_first = month_of(part(0, 4)?, part(4, 6)?);
            year_first.or_else(|| month_of(part(2, 6)?, part(0, 2)?))
        };
        self.at += length;
        date
    }

    fn month_first(&mut self, expected: Expected, today: Date) -> Option<PrintedDate> {
        let month = self.month()?;
        let separator = self.separator(b"-/.,'");
        if separator.is_none() {
            self.spaces();
        }
        let (first, first_digits) = self.digits()?;
        let behind_first = self.at;
        match first_digits {
            4 => return month_of(first, month),
            1 | 2 => {}
            _ => return None,
        }
        let joined = self.separator(b"-/.,").is_some() || self.spaces() > 0;
        if joined
            && let Some((year, 4)) = self.digits()
            && let Some(date) = civil(year, month, first)
        {
            return Some(date);
        }
        self.at = behind_first;
        let month_and_year =
            expected == Expected::Yes || matches!(separator, Some(b'-' | b'/' | b'\''));
        if first_digits != 2 || !month_and_year {
            return None;
        }
        month_of(year_of(first, 2, today)?, month)
    }

    /// Whether nothing follows that would make it part of a longer code; a second date may.
    fn ends(&self) -> bool {
        let mut rest = self.text.get(self.at..).unwrap_or_default().chars();
        match rest.next() {
            Some('-') => rest
                .next()
                .is_none_or(|c| !c.is_ascii_alphabetic() || is_month(&self.text[self.at + 1..])),
            Some('/' | '_') => rest.next().is_none_or(|c| !c.is_alphanumeric()),
            Some(c) => !c.is_alphanumeric(),
            None => true,
        }
    }
}

fn is_month(text: &str) -> bool {
    Cursor { text, at: 0 }.month().is_some()
}

fn three(
    first: (i16, usize),
    second: i16,
    third: (i16, usize),
    today: Date,
) -> Option<PrintedDate> {
    match (first, third) {
        ((year, 4), (day, 1 | 2)) => civil(year, second, day),
        ((first, 1 | 2), (year, digits @ (2 | 4))) => {
            let year = year_of(year, digits, today)?;
            civil(year, first, second).or_else(|| civil(year, second, first))
        }
        _ => None,
    }
}

fn year_of(year: i16, digits: usize, today: Date) -> Option<i16> {
    match digits {
        2 => Some(full_year(year, today)),
        4 => Some(year),
        _ => None,
    }
}

fn civil(year: i16, month: i16, day: i16) -> Option<PrintedDate> {
    if !(1950..2100).contains(&year) {
        return None;
    }
    let date = Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?);
    date.ok().map(PrintedDate::Day)
}

fn month_of(year: i16, month: i16) -> Option<PrintedDate> {
    civil(year, month, 1).map(|date| PrintedDate::Month(date.last().last_of_month()))
}
