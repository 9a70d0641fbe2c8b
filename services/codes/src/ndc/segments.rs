//! The three segments of a National Drug Code.

use std::fmt;

use super::NdcFault;
use crate::{Agency, Code, Identifier};

/// Labeler, product and package of a National Drug Code, as long as they were written.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NdcSegments {
    labeler: Segment,
    product: Segment,
    package: Segment,
}

/// One segment: its value and how many digits it was written with.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Segment {
    value: u32,
    width: usize,
}

impl Segment {
    fn parse(text: &str) -> Option<Self> {
        if text.is_empty() || text.len() > 6 || !text.bytes().all(|b| b.is_ascii_digit()) {
            return None;
        }
        Some(Self {
            value: text.parse().ok()?,
            width: text.len(),
        })
    }
}

impl fmt::Display for Segment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:0width$}", self.value, width = self.width)
    }
}

impl NdcSegments {
    pub(super) fn hyphened(text: &str) -> Result<Self, NdcFault> {
        let mut parts = text.split('-');
        let (Some(a), Some(b), Some(c), None) =
            (parts.next(), parts.next(), parts.next(), parts.next())
        else {
            return Err(NdcFault::WrongLength);
        };
        if !text
            .bytes()
            .all(|byte| byte.is_ascii_digit() || byte == b'-')
        {
            return Err(NdcFault::WrongCharacter);
        }
        if !matches!(
            (a.len(), b.len(), c.len()),
            (4, 4, 2) | (5, 3, 2) | (5, 4, 1) | (6, 3, 2) | (6, 4, 1) | (5, 4, 2) | (6, 4, 2)
        ) {
            return Err(NdcFault::WrongLength);
        }
        Self::of(a, b, c).ok_or(NdcFault::WrongLength)
    }

    /// Cuts bare digits after the labeler's and the product's lengths.
    pub(super) fn cut(digits: &str, labeler: usize, product: usize) -> Option<Self> {
        Self::of(
            digits.get(..labeler)?,
            digits.get(labeler..labeler + product)?,
            digits.get(labeler + product..)?,
        )
    }

    fn of(labeler: &str, product: &str, package: &str) -> Option<Self> {
        Some(Self {
            labeler: Segment::parse(labeler)?,
            product: Segment::parse(product)?,
            package: Segment::parse(package)?,
        })
    }

    /// The printed forms this 5-4-2 code can come from: one leading zero taken away.
    pub(super) fn without_one_zero(self) -> [Option<Self>; 3] {
        let shorter = |segment: Segment| {
            let width = segment.width - 1;
            (segment.value < 10u32.pow(u32::try_from(width).unwrap_or_default()))
                .then_some(Segment { width, ..segment })
        };
        [
            shorter(self.labeler).map(|labeler| Self { labeler, ..self }),
            shorter(self.product).map(|product| Self { product, ..self }),
            shorter(self.package).map(|package| Self { package, ..self }),
        ]
    }

    /// The product identifier: every segment with leading zeros to 6-4-2.
    pub fn identifier(&self) -> Identifier {
        let mut bytes = *b"000000000000";
        fill(&mut bytes[..6], self.labeler.value);
        fill(&mut bytes[6..10], self.product.value);
        fill(&mut bytes[10..], self.package.value);
        let text = std::str::from_utf8(&bytes).unwrap_or_default();
        // Twelve digits always fit.
        let code = Code::new(&[text]).unwrap_or(Code::EMPTY);
        Identifier {
            agency: Agency::Ndc,
            code,
        }
    }

    /// The ten digits as in a UPC-A or GTIN, for forms that have ten.
    pub(super) fn ten_digits(&self) -> Option<[u8; 10]> {
        if self.labeler.width + self.product.width + self.package.width != 10 {
            return None;
        }
        let mut bytes = *b"0000000000";
        let (product, package) = (self.labeler.width, self.labeler.width + self.product.width);
        fill(&mut bytes[..product], self.labeler.value);
        fill(&mut bytes[product..package], self.product.value);
        fill(&mut bytes[package..], self.package.value);
        Some(bytes)
    }
}

fn fill(digits: &mut [u8], mut value: u32) {
    for digit in digits.iter_mut().rev() {
        *digit = b'0' + u8::try_from(value % 10).unwrap_or_default();
        value /= 10;
    }
}

impl fmt::Display for NdcSegments {
    /// With hyphens, as long as written: `0067-6382-30`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}-{}-{}", self.labeler, self.product, self.package)
    }
}
