//! Lot, serial, dates and quantity of HIBC labels (ANSI/HIBC 2.6, 2.2 and 2.3).

use std::borrow::Cow;

use jiff::civil::{Date, Time};

use crate::label_date::{LabelDate, Precision, civil, digits, full_year, ordinal};
use crate::{Context, Reading, Unread, UnreadCode, Warning};

/// The longest lot or serial.
const LONGEST: usize = 18;
/// The longest lot behind a bare date (the form before flags).
const LONGEST_LEGACY: usize = 13;

/// Reads the segments between slashes: secondary data first, then supplements.
pub(super) fn read_segments<'a>(
    input: &'a str,
    start: usize,
    reading: &mut Reading<'a>,
    context: &Context,
) -> Result<(), Unread> {
    let mut at = start;
    for (i, segment) in input[start..].split('/').enumerate() {
        if i == 0
            && (segment.starts_with('$')
                || segment
                    .as_bytes()
                    .get(2)
                    .is_some_and(|b| b.is_ascii_digit()))
        {
            Secondary {
                segment,
                at,
                context,
                reading,
            }
            .read()?;
        } else {
            read_supplement(segment, at, reading)?;
        }
        at += segment.len() + 1;
    }
    Ok(())
}

/// One segment of secondary data.
struct Secondary<'a, 'r> {
    segment: &'a str,
    at: usize,
    context: &'r Context,
    reading: &'r mut Reading<'a>,
}

impl<'a> Secondary<'a, '_> {
    fn read(&mut self) -> Result<(), Unread> {
        let rest = self.segment;
        if let Some(rest) = rest.strip_prefix("$$+") {
            self.dated(rest, 3, true)
        } else if let Some(rest) = rest.strip_prefix("$$") {
            self.dated(rest, 2, false)
        } else if let Some(serial) = rest.strip_prefix("$+") {
            self.tail(serial, 2, 2, true)
        } else if let Some(lot) = rest.strip_prefix('$') {
            self.tail(lot, 1, 1, false)
        } else {
            self.legacy()
        }
    }

    /// Data behind `$$` or `$$+`: quantity, date, then lot or serial.
    fn dated(&mut self, rest: &'a str, mut used: usize, serial: bool) -> Result<(), Unread> {
        let mut rest = rest;
        let width = match rest.as_bytes().first() {
            Some(b'8') => 2,
            Some(b'9') => 5,
            _ => 0,
        };
        if width > 0 {
            let quantity = rest
                .get(1..=width)
                .filter(|q| q.bytes().all(|b| b.is_ascii_digit()));
            let quantity = quantity.ok_or(Unread::new(UnreadCode::WrongLength, self.at + used))?;
            self.reading.quantity = quantity.parse().ok();
            self.reading.warnings.add(Warning::DeprecatedForm);
            rest = &rest[width + 1..];
            used += width + 1;
            if rest.is_empty() {
                self.reading
                    .elements
                    .push(&self.segment[..used - width], quantity);
                return Ok(());
            }
        }
        let flag = rest
            .bytes()
            .next()
            .ok_or(Unread::new(UnreadCode::EmptyElement, self.at + used))?;
        let fault = Unread::new(UnreadCode::ImpossibleDate, self.at + used);
        // The flags 0 and 1 are the first digit of the month itself.
        let (skip, length) = match flag {
            b'0' | b'1' => (0, 4),
            b'2' | b'3' => (1, 6),
            b'4' => (1, 8),
            b'5' => (1, 5),
            b'6' => (1, 7),
            b'7' => (1, 0),
            _ => return Err(Unread::new(UnreadCode::WrongStructure, self.at + used)),
        };
        let date = rest.get(skip..skip + length).ok_or(fault.clone())?;
        if length > 0 {
            let date = parse_date(flag, date.as_bytes(), self.context.date).ok_or(fault)?;
            if date.precision == Precision::Month {
                self.reading.warnings.add(Warning::DayNotOnLabel);
            }
            self.reading.expires_on = Some(date);
        }
        let key = used + skip;
        self.tail(&rest[skip + length..], key, used + skip + length, serial)
    }

    /// The form before flags: year and day of the year, then the lot.
    fn legacy(&mut self) -> Result<(), Unread> {
        let (date, lot) = self
            .segment
            .split_at_checked(5)
            .ok_or(Unread::new(UnreadCode::WrongStructure, self.at))?;
        let date = parse_date(b'5', date.as_bytes(), self.context.date);
        self.reading.expires_on =
            Some(date.ok_or(Unread::new(UnreadCode::ImpossibleDate, self.at))?);
        self.reading.warnings.add(Warning::DeprecatedForm);
        if lot.len() > LONGEST_LEGACY {
            return Err(Unread::new(
                UnreadCode::WrongLength,
                self.at + 5 + LONGEST_LEGACY,
            ));
        }
        self.tail(lot, 0, 5, false)
    }

    /// Lot or serial, `used` bytes into the segment, whose key ends `key` bytes into it.
    fn tail(&mut self, text: &'a str, key: usize, used: usize, serial: bool) -> Result<(), Unread> {
        let dated = self.reading.expires_on.is_some() && used > key;
        if text.is_empty() && !dated {
            return Err(Unread::new(UnreadCode::EmptyElement, self.at + used));
        }
        check_text(text, self.at + used)?;
        self.reading
            .elements
            .push(&self.segment[..key], &self.segment[key..]);
        if !text.is_empty() {
            let field = if serial {
                &mut self.reading.serial
            } else {
                &mut self.reading.lot
            };
            *field = Some(Cow::Borrowed(text));
        }
        Ok(())
    }
}

/// `S` serial, `14D` expiry, `16D` manufacture, `Q` quantity.
fn read_supplement<'a>(
    segment: &'a str,
    at: usize,
    reading: &mut Reading<'a>,
) -> Result<(), Unread> {
    let (key, value) = ["14D", "16D", "S", "Q"]
        .iter()
        .find_map(|key| {
            segment
                .strip_prefix(key)
                .map(|value| (&segment[..key.len()], value))
        })
        .ok_or(Unread::new(UnreadCode::UnknownElement, at))?;
    let value_at = at + key.len();
    if value.is_empty() {
        return Err(Unread::new(UnreadCode::EmptyElement, value_at));
    }
    match key {
        "S" => {
            check_text(value, value_at)?;
            reading.serial = Some(Cow::Borrowed(value));
        }
        "Q" => {
            let legal = value.len() <= 5 && value.bytes().all(|b| b.is_ascii_digit());
            let quantity = legal.then(|| value.parse().ok()).flatten();
            reading.quantity =
                Some(quantity.ok_or(Unread::new(UnreadCode::WrongCharacter, value_at))?);
        }
        _ => {
            let date = long_date(value.as_bytes()).map(LabelDate::day);
            let date = date.ok_or(Unread::new(UnreadCode::ImpossibleDate, value_at))?;
            let field = if key == "14D" {
                &mut reading.expires_on
            } else {
                &mut reading.manufactured_on
            };
            *field = Some(date);
        }
    }
    reading.elements.push(key, value);
    Ok(())
}

/// At most 18 of letters, digits, hyphen and full stop.
fn check_text(text: &str, at: usize) -> Result<(), Unread> {
    let legal = |b: u8| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'-' || b == b'.';
    if let Some(wrong) = text.bytes().position(|b| !legal(b)) {
        return Err(Unread::new(UnreadCode::WrongCharacter, at + wrong));
    }
    if text.len() > LONGEST {
        return Err(Unread::new(UnreadCode::WrongLength, at + LONGEST));
    }
    Ok(())
}

/// A date behind its flag. Hours are UTC.
fn parse_date(flag: u8, text: &[u8], today: Date) -> Option<LabelDate> {
    let two = |from: usize| digits(text.get(from..from + 2)?);
    let hour = |date: Date, from: usize| {
        let time = Time::new(i8::try_from(two(from)?).ok()?, 0, 0, 0).ok()?;
        Some(LabelDate {
            date,
            precision: Precision::Hour,
            time: Some(time),
            utc: true,
        })
    };
    match flag {
        b'0' | b'1' => civil(full_year(two(2)?, today), two(0)?, 1).map(LabelDate::month),
        b'2' => civil(full_year(two(4)?, today), two(0)?, two(2)?).map(LabelDate::day),
        b'3' => civil(full_year(two(0)?, today), two(2)?, two(4)?).map(LabelDate::day),
        b'4' => hour(civil(full_year(two(0)?, today), two(2)?, two(4)?)?, 6),
        b'5' => ordinal(full_year(two(0)?, today), digits(&text[2..5])?).map(LabelDate::day),
        b'6' => hour(ordinal(full_year(two(0)?, today), digits(&text[2..5])?)?, 5),
        _ => None,
    }
}

/// YYYYMMDD.
fn long_date(text: &[u8]) -> Option<Date> {
    if text.len() != 8 {
        return None;
    }
    civil(
        digits(&text[..4])?,
        digits(&text[4..6])?,
        digits(&text[6..])?,
    )
}
