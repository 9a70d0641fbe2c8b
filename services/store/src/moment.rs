//! Between jiff and the database, and new identifiers.

use jiff::Timestamp;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use uuid::{NoContext, Uuid};

/// A new UUID version 7 for the instant (RFC 9562, 5.7): rows sort by when they were made.
#[must_use]
pub(crate) fn new_id(at: Timestamp) -> Uuid {
    let seconds = u64::try_from(at.as_second()).unwrap_or_default();
    let nanoseconds = u32::try_from(at.subsec_nanosecond()).unwrap_or_default();
    Uuid::new_v7(uuid::Timestamp::from_unix(NoContext, seconds, nanoseconds))
}

/// An optional date as diesel binds it.
pub(crate) fn date(date: Option<Date>) -> Option<jiff_diesel::Date> {
    date.map(ToDiesel::to_diesel)
}

/// An instant as entries and the API write it: RFC 3339 in UTC with six fraction digits.
#[must_use]
pub fn instant_text(at: Timestamp) -> String {
    format!("{at:.6}")
}
