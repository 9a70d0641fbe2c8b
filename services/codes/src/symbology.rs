//! AIM symbology identifiers: the three characters a scanner puts before the data.

use std::fmt;

/// A symbology identifier (ISO/IEC 15424): a code letter and a modifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Symbology {
    letter: u8,
    modifier: u8,
}

/// What data a symbology carries, as far as its identifier tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Carries {
    /// GS1 element strings (FNC1 in first position).
    Elements,
    /// A GTIN-13 or, zero-padded, a GTIN-12 (EAN-13, UPC-A, UPC-E).
    Gtin13,
    /// A GTIN-8 (EAN-8).
    Gtin8,
    /// Digits of an ITF symbol: a GTIN-14 when there are fourteen.
    Itf,
    /// Anything else: HIBC, ISBT 128, IFA, web addresses, text.
    Text,
}

impl Symbology {
    /// The identifier at the start of a scan, or nothing when it is incomplete or its
    /// letter or modifier is not one that ISO/IEC 15424 assigns.
    pub(crate) fn parse(scan: &str) -> Option<Self> {
        let [b']', letter, modifier, ..] = *scan.as_bytes() else {
            return None;
        };
        let known =
            b"ACEFGHILMOQRSTUXdehjmsz".contains(&letter) || letter == b'J' || letter == b'K';
        (known && modifier.is_ascii_hexdigit()).then_some(Self { letter, modifier })
    }

    /// What the data is. GS1's own are `]C1 ]d2 ]Q3 ]e0 ]J1` (GS1 General Specifications
    /// 5.4); the forms with extended channels `]d5 ]Q4 ]J4` and the composites `]e1 ]e2`
    /// from memory.
    pub(crate) fn carries(self) -> Carries {
        match (self.letter, self.modifier) {
            (b'C', b'1')
            | (b'd', b'2' | b'5')
            | (b'Q', b'3' | b'4')
            | (b'e', b'0'..=b'2')
            | (b'J', b'1' | b'4') => Carries::Elements,
            (b'E', b'0') => Carries::Gtin13,
            (b'E', b'4') => Carries::Gtin8,
            (b'I', _) => Carries::Itf,
            _ => Carries::Text,
        }
    }
}

impl fmt::Display for Symbology {
    /// The three characters, such as `]d2`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "]{}{}",
            char::from(self.letter),
            char::from(self.modifier)
        )
    }
}
