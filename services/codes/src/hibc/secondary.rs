//! Lot, serial, dates and quantity of HIBC labels (ANSI/HIBC 2.6, 2.2 and 2.3).

use std::borrow::Cow;

use jiff::civil::{Date, Time};

use crate::label_date::{LabelDate, Precision, civil, digits, full_year, long, ordinal};
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
        if i == 0 && (segment.starts_with('$') || begins_with_date(segment)) {
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

/// Whether this is the form before flags, and not the supplement 14D or 16D.
fn begins_with_date(segment: &str) -> bool {
    matches!(segment.as_bytes(), [a, b, c, ..] if [a, b, c].iter().all(|x| x.is_ascii_digit()))
}

/// One segment of secondary data.
struct Secondary<'a, 'r> {
    segment: &'a str,
    at: usize,
    context: &'r Context,
    reading: &'r mut Reading<'a>,
}

/// Element keys by date flag: month first, then flags 2 to 7.
const LOT_KEYS: [&str; 7] = ["$$", "$$2", "$$3", "$$4", "$$5", "$$6", "$$7"];
const SERIAL_KEYS: [&str; 7] = ["$$+", "$$+2", "$$+3", "$$+4", "$$+5", "$$+6", "$$+7"];

impl<'a> Secondary<'a, '_> {
    fn read(&mut self) -> Result<(), Unread> {
        let segment = self.segment;
        if let Some(rest) = segment.strip_prefix("$$+") {
            self.dated(rest, true)
        } else if let Some(rest) = segment.strip_prefix("$$") {
            self.dated(rest, false)
        } else if let Some(serial) = segment.strip_prefix("$+") {
            self.undated("$+", serial, true)
        } else if let Some(lot) = segment.strip_prefix('$') {
            self.undated("$", lot, false)
        } else {
            self.legacy()
        }
    }

    /// Where the rest of the segment stands in the input.
    fn place(&self, rest: &str) -> usize {
        self.at + self.segment.len() - rest.len()
    }

    /// Data behind `$$` or `$$+`: quantity, date, then lot or serial.
    fn dated(&mut self, rest: &'a str, serial: bool) -> Result<(), Unread> {
        let rest = self.quantity(rest)?;
        let fault = |code, at| Err(Unread::new(code, at));
        let Some(flag) = rest.bytes().next() else {
            let empty = self.reading.quantity.is_none();
            return if empty {
                fault(UnreadCode::EmptyElement, self.place(rest))
            } else {
                Ok(())
            };
        };
        // The flags 0 and 1 are the first digit of the month itself.
        let (keyed, data, length) = match flag {
            b'0' | b'1' => (0, rest, 4),
            b'2' | b'3' => (usize::from(flag - b'1'), &rest[1..], 6),
            b'4' => (3, &rest[1..], 8),
            b'5' => (4, &rest[1..], 5),
            b'6' => (5, &rest[1..], 7),
            b'7' => (6, &rest[1..], 0),
            _ => return fault(UnreadCode::WrongStructure, self.place(rest)),
        };
        let key = if serial {
            SERIAL_KEYS[keyed]
        } else {
            LOT_KEYS[keyed]
        };
        let Some((date, text)) = data.split_at_checked(length) else {
            return fault(UnreadCode::ImpossibleDate, self.place(data));
        };
        if length == 0 {
            return self.undated(key, text, serial);
        }
        let Some(date) = parse_date(flag, date.as_bytes(), self.context.date) else {
            return fault(UnreadCode::ImpossibleDate, self.place(data));
        };
        if date.precision == Precision::Month {
            self.reading.warnings.add(Warning::DayNotOnLabel);
        }
        self.reading.expires_on = Some(date);
        self.finish(key, data, text, LONGEST, serial)
    }

    /// `8QQ` or `9QQQQQ`, deprecated in 2.6 and still on labels.
    fn quantity(&mut self, rest: &'a str) -> Result<&'a str, Unread> {
        let (key, width) = match rest.as_bytes().first() {
            Some(b'8') => ("$$8", 2),
            Some(b'9') => ("$$9", 5),
            _ => return Ok(rest),
        };
        let digits = rest[1..]
            .split_at_checked(width)
            .filter(|(q, _)| q.bytes().all(|b| b.is_ascii_digit()));
        let (quantity, rest) =
            digits.ok_or(Unread::new(UnreadCode::WrongLength, self.place(rest)))?;
        self.reading.quantity = quantity.parse().ok();
        self.reading.warnings.add(Warning::DeprecatedForm);
        self.reading.elements.push(key, quantity);
        Ok(rest)
    }

    /// The form before flags: year and day of the year, then the lot.
    fn legacy(&mut self) -> Result<(), Unread> {
        let fault = Unread::new(UnreadCode::ImpossibleDate, self.at);
        let (date, lot) = self.segment.split_at_checked(5).ok_or(fault.clone())?;
        self.reading.expires_on =
            Some(parse_date(b'5', date.as_bytes(), self.context.date).ok_or(fault)?);
        self.reading.warnings.add(Warning::DeprecatedForm);
        self.finish("YYJJJ", self.segment, lot, LONGEST_LEGACY, false)
    }

    /// Lot or serial without a date; it must not be empty.
    fn undated(&mut self, key: &'static str, text: &'a str, serial: bool) -> Result<(), Unread> {
        if text.is_empty() {
            return Err(Unread::new(UnreadCode::EmptyElement, self.place(text)));
        }
        self.finish(key, text, text, LONGEST, serial)
    }

    /// Keeps the element and what of it is the lot or serial.
    fn finish(
        &mut self,
        key: &'static str,
        value: &'a str,
        text: &'a str,
        longest: usize,
        serial: bool,
    ) -> Result<(), Unread> {
        check_text(text, self.place(text), longest)?;
        self.reading.elements.push(key, value);
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
            check_text(value, value_at, LONGEST)?;
            reading.serial = Some(Cow::Borrowed(value));
        }
        "Q" => {
            let legal = value.len() <= 5 && value.bytes().all(|b| b.is_ascii_digit());
            let quantity = legal.then(|| value.parse().ok()).flatten();
            reading.quantity =
                Some(quantity.ok_or(Unread::new(UnreadCode::WrongCharacter, value_at))?);
        }
        _ => {
            let date = long(value.as_bytes());
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

/// At most `longest` of letters, digits, hyphen and full stop.
fn check_text(text: &str, at: usize, longest: usize) -> Result<(), Unread> {
    let legal = |b: u8| b.is_ascii_uppercase() || b.is_ascii_digit() || b == b'-' || b == b'.';
    if let Some(wrong) = text.bytes().position(|b| !legal(b)) {
        return Err(Unread::new(UnreadCode::WrongCharacter, at + wrong));
    }
    if text.len() > longest {
        return Err(Unread::new(UnreadCode::WrongLength, at + longest));
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
