//! Why a label could not be read.

use std::borrow::Cow;

/// Why characters could not be read as a label, where, and what a person can do.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct Unread {
    /// The permanent reason.
    pub code: UnreadCode,
    /// The byte position in the input where reading stopped.
    pub at: usize,
    /// One plain sentence that says what to do.
    pub message: Cow<'static, str>,
}

impl Unread {
    pub(crate) fn new(code: UnreadCode, at: usize) -> Self {
        Self {
            code,
            at,
            message: Cow::Borrowed(code.advice()),
        }
    }
}

macro_rules! codes {
    ($($(#[doc = $doc:literal])+ $variant:ident = $name:literal $advice:literal;)+) => {
        /// The permanent reasons for an unread label.
        #[derive(Clone, Copy, Debug, PartialEq, Eq)]
        pub enum UnreadCode {
            $($(#[doc = $doc])+ $variant,)+
        }

        impl UnreadCode {
            /// Every code.
            pub const ALL: &'static [Self] = &[$(Self::$variant,)+];

            /// The permanent name, in snake case.
            pub fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $name,)+ }
            }

            fn advice(self) -> &'static str {
                match self { $(Self::$variant => $advice,)+ }
            }
        }
    };
}

codes! {
    /// No characters.
    Empty = "empty" "The scan holds no data; scan the label again.";
    /// More characters than any label holds.
    TooLong = "too_long" "The scan is longer than any label; scan one label at a time.";
    /// No known form fits.
    UnknownForm = "unknown_form" "These characters fit no known label form; scan another symbol of the item, or type what is printed.";
    /// The symbology identifier is incomplete or not one of AIM's.
    UnknownSymbology = "unknown_symbology" "The scanner's symbology prefix is incomplete or unknown; check the station's scanner settings.";
    /// No GS1 application identifier or other data identifier starts here.
    UnknownElement = "unknown_element" "No known data identifier starts here; scan again, and check the station if it happens with other labels.";
    /// An element has no value.
    EmptyElement = "empty_element" "A data identifier is followed by no value; scan again or type what is printed.";
    /// A value is shorter or longer than its element allows.
    WrongLength = "wrong_length" "A value has the wrong length for its data identifier; scan again or type what is printed.";
    /// A character that this value cannot hold.
    WrongCharacter = "wrong_character" "A character stands where its element does not allow it; scan again or type what is printed.";
    /// A check digit or check character does not fit.
    WrongCheckDigit = "wrong_check_digit" "A check digit does not fit, so at least one character was misread or misprinted; scan again.";
    /// A day or month that does not exist.
    ImpossibleDate = "impossible_date" "A date on the label does not exist; compare with the print and type it with a reason.";
    /// An hour, minute or second that does not exist.
    ImpossibleTime = "impossible_time" "A time on the label does not exist; compare with the print and type it with a reason.";
    /// A value outside what its element allows (a country, a currency, a count).
    ImpossibleValue = "impossible_value" "A value lies outside what its data identifier allows; compare with the print.";
    /// The same element twice with different values.
    RepeatedDifferently = "repeated_differently" "The same element stands on the label twice with different values; scan one symbol at a time.";
    /// Two elements that exclude each other.
    ForbiddenPair = "forbidden_pair" "Two elements on the label exclude each other; compare with the print.";
    /// An element without the one it needs.
    MissingCompanion = "missing_companion" "An element needs another that is not in this symbol; scan the item's other symbol too.";
    /// More elements than a label holds.
    TooManyElements = "too_many_elements" "The scan holds more elements than any label; scan one label at a time.";
    /// A bracket, escape or flag is out of place.
    WrongStructure = "wrong_structure" "The label's structure is broken here; scan again or type what is printed.";
    /// A web address without a GS1 key, or with keys out of order.
    NotADigitalLink = "not_a_digital_link" "This web address does not carry a GS1 key; scan another symbol of the item.";
}
