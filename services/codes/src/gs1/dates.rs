//! Dates with a time of GS1 elements, resolved with the reading's date.

use jiff::civil::{Date, Time};

use crate::label_date::{LabelDate, Precision, digits, short};

/// YYMMDDHH[MM[SS]]. The label names no zone: the facility's is meant (GS1 states none;
/// from memory).
pub(super) fn instant(value: &str, today: Date) -> Option<LabelDate> {
    let date = short(value.as_bytes(), today)?;
    let part = |from: usize| {
        value
            .as_bytes()
            .get(from..from + 2)
            .and_then(digits)
            .and_then(|n| i8::try_from(n).ok())
    };
    let precision = match value.len() {
        8 => Precision::Hour,
        10 => Precision::Minute,
        _ => Precision::Second,
    };
    let time = Time::new(part(6)?, part(8).unwrap_or(0), part(10).unwrap_or(0), 0).ok()?;
    Some(LabelDate {
        precision,
        time: Some(time),
        ..date
    })
}
