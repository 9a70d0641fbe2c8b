//! Symbols that prove a station: what a scanner and its keyboard make of them is known.

use crate::{Context, Reading, Warning, read};

/// The symbols of a station's test page, in the ranges that the standards keep for
/// examples (GS1 prefix 952, HIBC labeler A999).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TestSymbol {
    /// GS1 DataMatrix with a separator in the middle.
    Gs1DataMatrix,
    /// GS1-128 with a separator in the middle.
    Gs1Code128,
    /// HIBC in Code 39 or Code 128 (ANSI/HIBC 2.6 2.2.1.1).
    Hibc,
}

/// What a station made of a test symbol.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum StationOutcome {
    /// Every character came through as it stands in the symbol.
    Proven,
    /// The separator came as something else, which the reader understands.
    SeparatorSubstituted,
    /// The separator is missing: labels would be read with lot and serial glued together.
    SeparatorLost,
    /// Caps lock, keyboard layout or full-ASCII mode changed characters; undone here
    /// because a check digit vouches, which other labels may lack.
    CharactersChanged,
    /// Another label was scanned.
    OtherLabel,
    /// Nothing readable came.
    Unread,
}

impl StationOutcome {
    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Proven => "proven",
            Self::SeparatorSubstituted => "separator_substituted",
            Self::SeparatorLost => "separator_lost",
            Self::CharactersChanged => "characters_changed",
            Self::OtherLabel => "other_label",
            Self::Unread => "unread",
        }
    }
}

/// What a scan of a test symbol tells about the station.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct StationCheck {
    /// What the station made of the symbol.
    pub outcome: StationOutcome,
    /// Whether the scanner sends symbology identifiers, which make reading more certain.
    pub sends_symbology: bool,
}

impl TestSymbol {
    /// The data to encode, with letters in both cases and the two that German keyboards
    /// exchange; GS stands for FNC1 between elements, and the FNC1 that marks a
    /// GS1 symbol is the encoder's to add.
    pub fn data(self) -> &'static str {
        match self {
            Self::Gs1DataMatrix => "010952012345678810Station-Zy\u{1D}21Matrix",
            Self::Gs1Code128 => "010952012345678810Station-Zy\u{1D}21Code128",
            Self::Hibc => "+A99912345/$$52001510X33",
        }
    }
}

/// Checks what a station delivered for the symbol a person was asked to scan.
pub fn check_station(scan: &str, symbol: TestSymbol, context: &Context) -> StationCheck {
    let Ok(reading) = read(scan, context) else {
        return StationCheck {
            outcome: StationOutcome::Unread,
            sends_symbology: scan.starts_with(']'),
        };
    };
    StationCheck {
        outcome: outcome(&reading, symbol),
        sends_symbology: reading.symbology.is_some(),
    }
}

fn outcome(reading: &Reading<'_>, symbol: TestSymbol) -> StationOutcome {
    let (code, lot, serial) = match symbol {
        TestSymbol::Gs1DataMatrix => ("09520123456788", "Station-Zy", Some("Matrix")),
        TestSymbol::Gs1Code128 => ("09520123456788", "Station-Zy", Some("Code128")),
        TestSymbol::Hibc => ("A99912345", "10X3", None),
    };
    let found = (
        reading.lot.as_deref().unwrap_or_default(),
        reading.serial.as_deref(),
    );
    if reading.identifier.is_none_or(|i| i.code.as_str() != code) {
        return StationOutcome::OtherLabel;
    }
    let glued = serial.is_some_and(|serial| {
        found.0.strip_prefix(lot).and_then(|t| t.strip_prefix("21")) == Some(serial)
    });
    let changed = [
        Warning::CaseSwapped,
        Warning::LayoutRepaired,
        Warning::FullAsciiUndone,
    ];
    if glued {
        StationOutcome::SeparatorLost
    } else if changed.iter().any(|w| reading.warnings.contains(*w)) {
        StationOutcome::CharactersChanged
    } else if found != (lot, serial) {
        StationOutcome::OtherLabel
    } else if reading.warnings.contains(Warning::SeparatorSubstituted) {
        StationOutcome::SeparatorSubstituted
    } else {
        StationOutcome::Proven
    }
}
