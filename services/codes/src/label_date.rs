//! Dates as labels print them, resolved to the last day they stand for.

use jiff::civil::{Date, Time};

/// A date from a label, resolved to a full civil date.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct LabelDate {
    /// The last day the printed date covers: the last of the month when only the month
    /// is printed, because an item is usable through the end of what its label says.
    pub date: Date,
    /// How much of the date the label prints.
    pub precision: Precision,
    /// The time of day, when printed: the last moment the print covers is not implied.
    pub time: Option<Time>,
    /// Whether the time is in UTC (HIBC hours); otherwise the label names no zone and the
    /// facility's zone is meant.
    pub utc: bool,
}

/// How much of a date the label prints.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Precision {
    /// Year and month.
    Month,
    /// Year, month and day.
    Day,
    /// Day and hour.
    Hour,
    /// Day, hour and minute.
    Minute,
    /// Day, hour, minute and second.
    Second,
}

impl Precision {
    /// The name used in JSON and in the database.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Month => "month",
            Self::Day => "day",
            Self::Hour => "hour",
            Self::Minute => "minute",
            Self::Second => "second",
        }
    }
}

impl LabelDate {
    /// A date printed to the day.
    pub fn day(date: Date) -> Self {
        Self {
            date,
            precision: Precision::Day,
            time: None,
            utc: false,
        }
    }

    /// A date printed to the month only: its last day.
    pub fn month(any_day: Date) -> Self {
        Self {
            date: any_day.last_of_month(),
            precision: Precision::Month,
            time: None,
            utc: false,
        }
    }
}

/// The four-digit year of a two-digit one, seen from `today` (GS1 General
/// Specifications 7.12): more than 50 years ahead belongs to the century before, 50 or
/// more behind to the next. HIBC and IFA labels state no rule; the same one is used
/// there (common practice, no source).
pub fn full_year(two_digits: i16, today: Date) -> i16 {
    let century = today.year() - today.year() % 100;
    match two_digits - today.year() % 100 {
        51..=99 => century - 100 + two_digits,
        -99..=-50 => century + 100 + two_digits,
        _ => century + two_digits,
    }
}

/// The civil date, or nothing when there is no such day.
pub(crate) fn civil(year: i16, month: i16, day: i16) -> Option<Date> {
    Date::new(year, i8::try_from(month).ok()?, i8::try_from(day).ok()?).ok()
}

/// YYMMDD, where day 00 means the last day of the month (GS1 General Specifications 3.4;
/// on IFA labels from memory).
pub(crate) fn short(text: &[u8], today: Date) -> Option<LabelDate> {
    let year = full_year(digits(text.get(..2)?)?, today);
    let month = digits(text.get(2..4)?)?;
    match digits(text.get(4..6)?)? {
        0 => civil(year, month, 1).map(LabelDate::month),
        day => civil(year, month, day).map(LabelDate::day),
    }
}

/// Exactly YYYYMMDD.
pub(crate) fn long(text: &[u8]) -> Option<LabelDate> {
    let (year, rest) = text.split_at_checked(4)?;
    let (month, day) = rest.split_at_checked(2).filter(|(_, day)| day.len() == 2)?;
    civil(digits(year)?, digits(month)?, digits(day)?).map(LabelDate::day)
}

/// The day with this number in the year (1 is 1 January).
pub(crate) fn ordinal(year: i16, day: i16) -> Option<Date> {
    if day < 1 {
        return None;
    }
    let date = civil(year, 1, 1)?
        .checked_add(jiff::Span::new().try_days(day - 1).ok()?)
        .ok()?;
    (date.year() == year).then_some(date)
}

/// The number that up to four ASCII digits write, or nothing.
pub(crate) fn digits(text: &[u8]) -> Option<i16> {
    if text.is_empty() || text.len() > 4 {
        return None;
    }
    text.iter().try_fold(0, |n, b| {
        b.is_ascii_digit().then(|| n * 10 + i16::from(b - b'0'))
    })
}
