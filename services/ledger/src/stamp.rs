//! The one text form of a moment: RFC 3339, UTC, six fraction digits, `Z`.
use jiff::{Timestamp, civil::DateTime, tz::Offset};
use serde::{Deserialize, Deserializer, Serializer, de};

/// The length of `2026-11-24T08:15:00.123456Z`.
pub(crate) const LENGTH: usize = 27;

/// Cuts a moment to whole microseconds.
pub(crate) fn to_microsecond(moment: Timestamp) -> Timestamp {
    Timestamp::from_microsecond(moment.as_microsecond()).unwrap_or(moment)
}

/// Writes a moment; years outside 0000 to 9999 have no text in RFC 3339 and are `None`.
pub(crate) fn text(moment: Timestamp) -> Option<[u8; LENGTH]> {
    let civil = Offset::UTC.to_datetime(moment);
    let mut text = *b"0000-00-00T00:00:00.000000Z";
    digits(&mut text[0..4], u32::try_from(civil.year()).ok()?);
    digits(&mut text[5..7], civil.month().unsigned_abs().into());
    digits(&mut text[8..10], civil.day().unsigned_abs().into());
    digits(&mut text[11..13], civil.hour().unsigned_abs().into());
    digits(&mut text[14..16], civil.minute().unsigned_abs().into());
    digits(&mut text[17..19], civil.second().unsigned_abs().into());
    digits(
        &mut text[20..26],
        civil.subsec_nanosecond().unsigned_abs() / 1000,
    );
    Some(text)
}

fn digits(place: &mut [u8], mut value: u32) {
    for digit in place.iter_mut().rev() {
        *digit = b'0' + (value % 10) as u8;
        value /= 10;
    }
}

/// Reads the text form; anything else, a day that does not exist included, is `None`.
pub(crate) fn read(text: &[u8]) -> Option<Timestamp> {
    let text: &[u8; LENGTH] = text.try_into().ok()?;
    let marks = [
        (4, b'-'),
        (7, b'-'),
        (10, b'T'),
        (13, b':'),
        (16, b':'),
        (19, b'.'),
        (26, b'Z'),
    ];
    if marks.iter().any(|(place, mark)| text[*place] != *mark) {
        return None;
    }
    let civil = DateTime::new(
        number(&text[0..4])?.try_into().ok()?,
        number(&text[5..7])?.try_into().ok()?,
        number(&text[8..10])?.try_into().ok()?,
        number(&text[11..13])?.try_into().ok()?,
        number(&text[14..16])?.try_into().ok()?,
        number(&text[17..19])?.try_into().ok()?,
        number(&text[20..26])? * 1000,
    )
    .ok()?;
    Offset::UTC.to_timestamp(civil).ok()
}

fn number(digits: &[u8]) -> Option<i32> {
    digits.iter().try_fold(0, |sum, digit| {
        digit
            .is_ascii_digit()
            .then(|| sum * 10 + i32::from(digit - b'0'))
    })
}

/// Writes a moment as a JSON string, for `#[serde(with = "...")]`.
pub(crate) fn serialize<S: Serializer>(moment: &Timestamp, out: S) -> Result<S::Ok, S::Error> {
    let text = text(*moment).ok_or_else(|| serde::ser::Error::custom("year out of range"))?;
    out.serialize_str(&String::from_utf8_lossy(&text))
}

/// Reads a moment from a JSON string, for `#[serde(with = "...")]`.
pub(crate) fn deserialize<'de, D: Deserializer<'de>>(input: D) -> Result<Timestamp, D::Error> {
    let text = String::deserialize(input)?;
    read(text.as_bytes()).ok_or_else(|| de::Error::custom("not a moment with six fraction digits"))
}
