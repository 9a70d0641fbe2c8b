//! Symbols that prove a station: what a scanner and its keyboard make of them is known.

use crate::{Context, Reading, Warning, Warnings, read};

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
    /// Capital and small letters are exchanged, as by caps lock.
    CaseSwapped,
    /// Keys are exchanged: the computer's keyboard layout is not the scanner's.
    LayoutChanged,
    /// Code 39 in full-ASCII mode merged characters.
    FullAsciiMode,
    /// Characters that are not the label's stand behind the data.
    SuffixAdded,
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
            Self::CaseSwapped => "case_swapped",
            Self::LayoutChanged => "layout_changed",
            Self::FullAsciiMode => "full_ascii_mode",
            Self::SuffixAdded => "suffix_added",
            Self::OtherLabel => "other_label",
            Self::Unread => "unread",
        }
    }

    /// Whether every character came through, or the separator in a form that is understood.
    pub fn passes(self) -> bool {
        matches!(self, Self::Proven | Self::SeparatorSubstituted)
    }

    /// What happened and what to do, in a plain sentence.
    pub fn advice(self) -> &'static str {
        match self {
            Self::Proven => "Every character came through.",
            Self::SeparatorSubstituted => {
                "The separator came as another character, which is understood."
            }
            Self::SeparatorLost => {
                "The separator is missing; set the scanner to send GS (ASCII 29), or to send another character in its place."
            }
            Self::CaseSwapped => "Capital and small letters are exchanged; turn caps lock off.",
            Self::LayoutChanged => {
                "Keys are exchanged; set the scanner's keyboard layout to that of the computer."
            }
            Self::FullAsciiMode => {
                "Characters of Code 39 are merged; turn full-ASCII Code 39 off in the scanner."
            }
            Self::SuffixAdded => {
                "Characters stand behind the data; turn the scanner's suffix off, except Enter or Tab."
            }
            Self::OtherLabel => "Another label was scanned; scan the symbol of the test page.",
            Self::Unread => {
                "Nothing readable came for this symbol; scan it again, and check the scanner's settings."
            }
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
    /// The symbols in the order of the page.
    pub const ALL: [Self; 3] = [Self::Gs1DataMatrix, Self::Gs1Code128, Self::Hibc];

    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Gs1DataMatrix => "gs1_datamatrix",
            Self::Gs1Code128 => "gs1_128",
            Self::Hibc => "hibc",
        }
    }

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
    let has = |warning| Warnings::contains(reading.warnings, warning);
    let longer = |text: &str, known: &str| text.starts_with(known) && text != known;
    let added = match serial {
        Some(serial) => found.0 == lot && found.1.is_some_and(|text| longer(text, serial)),
        None => longer(found.0, lot),
    };
    if glued {
        StationOutcome::SeparatorLost
    } else if has(Warning::CaseSwapped) {
        StationOutcome::CaseSwapped
    } else if has(Warning::LayoutRepaired) {
        StationOutcome::LayoutChanged
    } else if has(Warning::FullAsciiUndone) {
        StationOutcome::FullAsciiMode
    } else if added {
        StationOutcome::SuffixAdded
    } else if found != (lot, serial) {
        StationOutcome::OtherLabel
    } else if has(Warning::SeparatorSubstituted) {
        StationOutcome::SeparatorSubstituted
    } else {
        StationOutcome::Proven
    }
}

/// Checks what a station delivered for all symbols of the page, in any order: for each
/// symbol the reading that belongs to it, or `Unread` when none does.
pub fn check_readings<'r>(
    readings: impl Iterator<Item = &'r str> + Clone,
    context: &Context,
) -> [(TestSymbol, StationCheck); 3] {
    TestSymbol::ALL.map(|symbol| {
        let belongs = |check: &StationCheck| {
            !matches!(
                check.outcome,
                StationOutcome::OtherLabel | StationOutcome::Unread
            )
        };
        let missing = StationCheck {
            outcome: StationOutcome::Unread,
            sends_symbology: false,
        };
        let check = readings
            .clone()
            .map(|scan| check_station(scan, symbol, context))
            .find(belongs);
        (symbol, check.unwrap_or(missing))
    })
}
