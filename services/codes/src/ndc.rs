//! National Drug Codes in all their lengths.

mod segments;

pub use segments::NdcSegments;

use crate::{Identifier, gtin};

/// A National Drug Code as far as the characters decide it: every way to cut it into
/// labeler, product and package.
///
/// Ten digits without hyphens can be 4-4-2, 5-3-2 or 5-4-1. Labeler codes of four digits
/// begin with 0 and longer ones do not (in 35,320 real package codes without exception),
/// so a first digit 0 decides 4-4-2; otherwise two cuts remain, which name different
/// products. Eleven digits are 5-4-2 with one zero added in front of a segment; which one
/// is open where several begin with 0, but all cuts name the same product.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Ndc {
    cuts: [Option<NdcSegments>; 3],
}

/// Why characters are no NDC.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NdcFault {
    /// The digits or segments have no NDC's length.
    #[error("a National Drug Code has 10, 11 or 12 digits")]
    WrongLength,
    /// Something else than digits and hyphens.
    #[error("a National Drug Code has digits and hyphens only")]
    WrongCharacter,
}

impl Ndc {
    /// Reads a code with hyphens (4-4-2, 5-3-2, 5-4-1, 6-3-2, 6-4-1, 5-4-2, 6-4-2) or as
    /// 10, 11 or 12 bare digits.
    ///
    /// # Errors
    /// When the text has no such shape.
    pub fn parse(text: &str) -> Result<Self, NdcFault> {
        if text.contains('-') {
            return NdcSegments::hyphened(text).map(Self::decided);
        }
        if text.is_empty() || !text.bytes().all(|b| b.is_ascii_digit()) {
            return Err(NdcFault::WrongCharacter);
        }
        match text.len() {
            10 => Self::from_ten(text).ok_or(NdcFault::WrongLength),
            11 => Self::from_eleven(text).ok_or(NdcFault::WrongLength),
            12 => NdcSegments::cut(text, 6, 4)
                .map(Self::decided)
                .ok_or(NdcFault::WrongLength),
            _ => Err(NdcFault::WrongLength),
        }
    }

    /// The NDC inside a 14-digit GTIN: any packaging level, then `03`, ten digits and the
    /// check digit (21 CFR 201.25; GS1 US healthcare practice).
    pub fn in_gtin(gtin14: &str) -> Option<Self> {
        let ten = gtin14
            .get(3..13)
            .filter(|_| gtin14.len() == 14 && gtin14.get(1..3) == Some("03"))?;
        Self::from_ten(ten)
    }

    /// Every way the code can be cut, as it was or would be printed.
    pub fn candidates(&self) -> impl Iterator<Item = &NdcSegments> {
        self.cuts.iter().flatten()
    }

    /// The product identifier, when all cuts agree on it: 12 digits 6-4-2 with leading
    /// zeros (91 FR 10749), the same for every older form of the code.
    pub fn identifier(&self) -> Option<Identifier> {
        let mut all = self.candidates().map(NdcSegments::identifier);
        let first = all.next()?;
        all.all(|other| other == first).then_some(first)
    }

    /// The GTIN-14 that carries the ten digits at the item level, when all cuts have the
    /// same ten: known even where the cut is open.
    pub fn gtin(&self) -> Option<Identifier> {
        let mut all = self.candidates().map(NdcSegments::ten_digits);
        let ten = all.next()??;
        if !all.all(|other| other == Some(ten)) {
            return None;
        }
        let mut digits = *b"00300000000000";
        digits[3..13].copy_from_slice(&ten);
        digits[13] = gtin::check_digit(&digits[..13]);
        Identifier::gtin(std::str::from_utf8(&digits).ok()?)
    }

    fn decided(segments: NdcSegments) -> Self {
        Self {
            cuts: [Some(segments), None, None],
        }
    }

    fn from_ten(ten: &str) -> Option<Self> {
        if ten.starts_with('0') {
            return NdcSegments::cut(ten, 4, 4).map(Self::decided);
        }
        Some(Self {
            cuts: [
                Some(NdcSegments::cut(ten, 5, 3)?),
                NdcSegments::cut(ten, 5, 4),
                None,
            ],
        })
    }

    fn from_eleven(eleven: &str) -> Option<Self> {
        let padded = NdcSegments::cut(eleven, 5, 4)?;
        let cuts = padded.without_one_zero();
        Some(if cuts.iter().all(Option::is_none) {
            Self::decided(padded)
        } else {
            Self { cuts }
        })
    }
}
