//! A label's reading as the service keeps it.

pub mod place;

use crate::access::BadgeText;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;
use jiff::{Timestamp, ToSpan};
use lotwarden_codes::{
    CheckDigits, Context, Form, LabelDate, Precision, Reading, Separators, Warning, Warnings,
};

/// The agency and code a label or a catalogue names a product by.
#[derive(Clone, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct ProductCode {
    /// The issuing agency: `gs1`, `hibcc`, `iccbba`, `ifa` or `ndc`.
    pub agency: &'static str,
    /// The code in its normal form: 14 digits for GS1, no check character for HIBCC.
    pub code: String,
}

impl std::fmt::Display for ProductCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}:{}", self.agency, self.code)
    }
}

/// What a reading depends on besides its characters.
#[derive(Clone, Debug)]
pub struct Circumstances {
    /// The day of the scan at the facility, which decides the century of two-digit years.
    pub today: Date,
    /// What the station's scanner sends for the separator.
    pub separators: Separators,
}

impl Circumstances {
    /// Those of a scan on that day at no station of its own.
    #[must_use]
    pub fn on(today: Date) -> Self {
        Self {
            today,
            separators: Separators::default(),
        }
    }

    /// A strict reading in these circumstances.
    #[must_use]
    pub fn context(self) -> Context {
        Context {
            separators: self.separators,
            ..Context::new(self.today)
        }
    }
}

/// What a label said.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Label {
    /// The form of the label, in the words of `lotwarden read`.
    pub form: &'static str,
    /// The product it names.
    pub code: Option<ProductCode>,
    /// Another code that stands for the same product: the GTIN of a drug code, or the reverse.
    pub also: Option<ProductCode>,
    /// The lot, exactly as printed.
    pub lot: Option<String>,
    /// The serial, exactly as printed.
    pub serial: Option<String>,
    /// The last usable day.
    pub expires_on: Option<Date>,
    /// The last usable moment, where the label prints a time with the day.
    pub expires_at: Option<PrintedMoment>,
    /// The day of manufacture.
    pub manufactured_on: Option<Date>,
    /// The check digit or character is wrong; usable only when the catalogue has the code so.
    pub wrong_check_digit: bool,
    /// A separator may have been lost.
    pub separator_suspect: bool,
    /// A date has no day.
    pub day_not_on_label: bool,
}

/// A day with a time as a label prints it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PrintedMoment {
    printed: DateTime,
    precision: Precision,
    /// In UTC; otherwise the facility's zone is meant.
    utc: bool,
}

impl PrintedMoment {
    fn of(date: LabelDate) -> Option<Self> {
        Some(Self {
            printed: date.date.to_datetime(date.time?),
            precision: date.precision,
            utc: date.utc,
        })
    }

    /// The print in the facility's zone, once the hour or minute that it names is over.
    #[must_use]
    pub fn passed(self, now: Timestamp, zone: &TimeZone) -> Option<DateTime> {
        let printed_in = if self.utc { &TimeZone::UTC } else { zone };
        let span = match self.precision {
            Precision::Hour => 1.hour(),
            Precision::Minute => 1.minute(),
            Precision::Second | Precision::Day | Precision::Month => 1.second(),
        };
        let printed = self.printed.to_zoned(printed_in.clone()).ok()?;
        let end = printed.checked_add(span).ok()?;
        let passed = end.timestamp() <= now;
        passed.then(|| printed.with_time_zone(zone.clone()).datetime())
    }
}

/// The data identifiers that say who somebody is: the GS1 General Specifications' numbers of
/// people (8017, 8018) and what goes with them (7250 to 7259).
const OF_PEOPLE: [&str; 12] = [
    "7250", "7251", "7252", "7253", "7254", "7255", "7256", "7257", "7258", "7259", "8017", "8018",
];

/// Why the characters are no known form.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct UnreadLabel {
    /// A permanent slug.
    pub code: &'static str,
    /// The byte it was found at.
    pub at: usize,
    /// One plain sentence that says what to do; never repeats the characters.
    pub message: String,
}

impl Label {
    /// Reads one label.
    ///
    /// One symbol of a label that has several is enough: what it does not carry is for the rules
    /// to ask for. A wrong check digit is kept as a flag, because some catalogues hold such codes.
    ///
    /// # Errors
    /// [`UnreadLabel`].
    pub fn read(text: &str, circumstances: Circumstances) -> Result<Self, UnreadLabel> {
        if BadgeText::read(text).is_some() {
            return Err(UnreadLabel {
                code: "badge",
                at: 0,
                message: "This is a person's badge, not an item.".to_owned(),
            });
        }
        let context = Context {
            associations: false,
            check_digits: CheckDigits::Tolerate,
            ..circumstances.context()
        };
        match lotwarden_codes::read(text, &context) {
            Ok(reading) if reading.form == Form::Plain => Err(UnreadLabel {
                code: "no_identification",
                at: 0,
                message: "This symbol carries no identification; scan the label's other symbol."
                    .to_owned(),
            }),
            Ok(reading)
                if reading
                    .elements
                    .iter()
                    .any(|(key, _)| OF_PEOPLE.contains(&key)) =>
            {
                Err(UnreadLabel {
                    code: "person",
                    at: 0,
                    message: "This is a person's label, not an item.".to_owned(),
                })
            }
            Ok(reading) => Ok(Self::of(&reading)),
            Err(unread) => Err(UnreadLabel {
                code: unread.code.as_str(),
                at: unread.at,
                message: unread.message.into_owned(),
            }),
        }
    }

    /// Every code a catalogue may know the product by, the label's own first.
    pub fn codes(&self) -> impl Iterator<Item = &ProductCode> {
        self.code.iter().chain(&self.also)
    }

    /// What a reading says, as the service keeps it.
    #[must_use]
    pub fn of(reading: &Reading<'_>) -> Self {
        let warned = |warning| Warnings::contains(reading.warnings, warning);
        let mut codes = reading.identifiers().map(ProductCode::from);
        Self {
            form: reading.form.as_str(),
            code: codes.next(),
            also: codes.next(),
            lot: reading.lot.as_deref().map(str::to_owned),
            serial: reading.serial.as_deref().map(str::to_owned),
            expires_on: reading.expires_on.map(|date| date.date),
            expires_at: reading.expires_on.and_then(PrintedMoment::of),
            manufactured_on: reading.manufactured_on.map(|date| date.date),
            wrong_check_digit: warned(Warning::WrongCheckDigit),
            separator_suspect: warned(Warning::SeparatorSuspect),
            day_not_on_label: warned(Warning::DayNotOnLabel),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn passed(text: &str, now: &str, zone: &str) -> Option<DateTime> {
        let label = Label::read(text, Circumstances::on(date(2026, 11, 24))).unwrap();
        let zone = TimeZone::get(zone).unwrap();
        label.expires_at?.passed(now.parse().unwrap(), &zone)
    }

    // GS1 General Specifications, AI (7003): the print names no zone. ANSI/HIBC 2.6, 2.3: hours are
    // those of UTC. Usable through the printed minute or hour: common practice, no source.
    #[test]
    fn a_printed_time_passes_in_its_own_zone() {
        // 08 hours on day 328 of 2026, 24 November; the link and check characters are made up.
        let (minute, hour) = ("(01)09520123456788(7003)2611240800", "+$$62632808LOT1L0");
        let printed = |hour| Some(date(2026, 11, 24).at(hour, 0, 0, 0));
        for (text, now, expected) in [
            (minute, "2026-11-24T13:00:59Z", None),
            (minute, "2026-11-24T13:01:00Z", printed(8)),
            (hour, "2026-11-24T08:59:59Z", None),
            (hour, "2026-11-24T09:00:00Z", printed(3)),
        ] {
            assert_eq!(passed(text, now, "America/New_York"), expected, "{text}");
        }
    }

    #[test]
    fn a_day_alone_has_no_time() {
        assert_eq!(
            passed(
                "(01)09520123456788(17)261124",
                "2026-12-24T08:00:00Z",
                "UTC"
            ),
            None
        );
    }
}
