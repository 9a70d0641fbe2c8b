//! What a person should know about a label that was read.

/// Something about a readable label that a person should know.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[repr(u8)]
pub enum Warning {
    /// A check digit or check character is wrong; tolerated because the context says so.
    WrongCheckDigit,
    /// A value looks as if a lost separator had glued two elements together.
    SeparatorSuspect,
    /// The separator came as another character and was understood.
    SeparatorSubstituted,
    /// A date has no day; it counts through the last day of the month (not allowed on
    /// regulated healthcare items since 2025-01-01, GSCN 21-040).
    DayNotOnLabel,
    /// The number belongs to a range for use inside one company or store.
    RestrictedNumber,
    /// Eight digits that are right as GTIN-8 and as UPC-E; read as GTIN-8.
    Gtin8OrUpcE,
    /// The NDC inside can be cut into segments in more than one way.
    NdcAmbiguous,
    /// The same element stands on the label more than once with the same value.
    ElementRepeated,
    /// The form is withdrawn from its standard but still found on labels.
    DeprecatedForm,
    /// The letters' case was swapped back (caps lock on the station).
    CaseSwapped,
    /// Keys were moved back (another keyboard layout on the station).
    LayoutRepaired,
    /// A scanner in full-ASCII mode had merged the leading `+` with the letter behind it.
    FullAsciiUndone,
    /// The donation number breaks the strict form of its standard; taken as printed.
    DonationNumberNotStrict,
    /// The label's closing characters are missing (ISO/IEC 15434 RS, EOT).
    TrailerMissing,
}

impl Warning {
    const ALL: [Self; 14] = [
        Self::WrongCheckDigit,
        Self::SeparatorSuspect,
        Self::SeparatorSubstituted,
        Self::DayNotOnLabel,
        Self::RestrictedNumber,
        Self::Gtin8OrUpcE,
        Self::NdcAmbiguous,
        Self::ElementRepeated,
        Self::DeprecatedForm,
        Self::CaseSwapped,
        Self::LayoutRepaired,
        Self::FullAsciiUndone,
        Self::DonationNumberNotStrict,
        Self::TrailerMissing,
    ];

    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::WrongCheckDigit => "wrong_check_digit",
            Self::SeparatorSuspect => "separator_suspect",
            Self::SeparatorSubstituted => "separator_substituted",
            Self::DayNotOnLabel => "day_not_on_label",
            Self::RestrictedNumber => "restricted_number",
            Self::Gtin8OrUpcE => "gtin8_or_upc_e",
            Self::NdcAmbiguous => "ndc_ambiguous",
            Self::ElementRepeated => "element_repeated",
            Self::DeprecatedForm => "deprecated_form",
            Self::CaseSwapped => "case_swapped",
            Self::LayoutRepaired => "layout_repaired",
            Self::FullAsciiUndone => "full_ascii_undone",
            Self::DonationNumberNotStrict => "donation_number_not_strict",
            Self::TrailerMissing => "trailer_missing",
        }
    }
}

/// A set of warnings, in a fixed order.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Warnings(u32);

impl Warnings {
    /// Whether this warning is given.
    pub fn contains(self, warning: Warning) -> bool {
        self.0 & (1 << warning as u32) != 0
    }

    /// Whether there is none.
    pub fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// Every warning given.
    pub fn iter(self) -> impl Iterator<Item = Warning> {
        Warning::ALL.into_iter().filter(move |w| self.contains(*w))
    }

    pub(crate) fn add(&mut self, warning: Warning) {
        self.0 |= 1 << warning as u32;
    }

    pub(crate) fn join(&mut self, other: Self) {
        self.0 |= other.0;
    }
}
