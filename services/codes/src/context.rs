//! What a reading depends on besides the characters.

use std::borrow::Cow;

use jiff::civil::Date;

/// The circumstances of one reading: its date, how strict it is, and what the
/// station's scanner sends in place of the GS1 separator.
#[derive(Clone, Debug)]
pub struct Context {
    /// The day of the scan, which settles the century of two-digit years
    /// (GS1 General Specifications 7.12).
    pub date: Date,
    /// Whether GS1's required and forbidden pairings of elements are checked. Off for
    /// one of several symbols of an item, because the rules hold over all of them.
    pub associations: bool,
    /// What a wrong check digit or check character leads to.
    pub check_digits: CheckDigits,
    /// What stands for the GS1 separator at this station.
    pub separators: Separators,
}

impl Context {
    /// A strict reading on the given day: associations on, check digits must be right,
    /// default separators.
    pub fn new(date: Date) -> Self {
        Self {
            date,
            associations: true,
            check_digits: CheckDigits::Strict,
            separators: Separators::default(),
        }
    }
}

/// What a wrong check digit leads to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CheckDigits {
    /// The label is unread.
    Strict,
    /// The label is read with the warning `wrong_check_digit`: for identifiers that
    /// stand in the catalogue with the same wrong digit (real device records do).
    Tolerate,
}

/// What a station's scanner sends where the label has the separator FNC1.
///
/// GS (0x1D), `^` and the spellings `{GS}`, `[GS]`, `\x1D`, `^]`, U+241D and U+2194 are
/// always understood: none of their first characters can occur in GS1 data.
#[derive(Clone, Debug)]
pub struct Separators {
    configured: Vec<Cow<'static, str>>,
    outside_set: bool,
}

impl Default for Separators {
    /// The spellings above, and any other single character that GS1 data cannot hold.
    fn default() -> Self {
        Self {
            configured: Vec::new(),
            outside_set: true,
        }
    }
}

impl Separators {
    /// Adds a spelling that this station is known to send, such as `<GS>` or `%1D`.
    /// Those two are legal label text, so they are never taken as separators unasked.
    #[must_use]
    pub fn with(mut self, spelling: impl Into<Cow<'static, str>>) -> Self {
        let spelling = spelling.into();
        if !spelling.is_empty() {
            self.configured.push(spelling);
        }
        self
    }

    /// Refuses characters outside the GS1 set instead of taking them as separators.
    #[must_use]
    pub fn strict(mut self) -> Self {
        self.outside_set = false;
        self
    }

    pub(crate) fn configured(&self) -> &[Cow<'static, str>] {
        &self.configured
    }

    pub(crate) fn outside_set(&self) -> bool {
        self.outside_set
    }
}
