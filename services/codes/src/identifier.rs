//! A product's identifier: who issues it and its code in one normal form.

mod hibcc;

use std::fmt;
use std::ops::Deref;
use std::str::FromStr;

use crate::{Ndc, NdcFault, gtin, ifa};

/// Who issues an identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Agency {
    /// GS1: GTINs, always as 14 digits.
    Gs1,
    /// HIBCC: labeler code, product code, unit of measure.
    Hibcc,
    /// ICCBBA: ISBT 128 device identifiers.
    Iccbba,
    /// IFA: Pharmacy Product Numbers.
    Ifa,
    /// FDA: National Drug Codes, as the 12 digits 6-4-2.
    Ndc,
}

/// The text names no agency.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the agency is one of gs1, hibcc, iccbba, ifa, ndc")]
pub struct UnknownAgency;

impl Agency {
    /// The name used in JSON and in the database.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Gs1 => "gs1",
            Self::Hibcc => "hibcc",
            Self::Iccbba => "iccbba",
            Self::Ifa => "ifa",
            Self::Ndc => "ndc",
        }
    }
}

impl FromStr for Agency {
    type Err = UnknownAgency;

    /// Reads the name in any case.
    fn from_str(text: &str) -> Result<Self, UnknownAgency> {
        [Self::Gs1, Self::Hibcc, Self::Iccbba, Self::Ifa, Self::Ndc]
            .into_iter()
            .find(|agency| text.eq_ignore_ascii_case(agency.as_str()))
            .ok_or(UnknownAgency)
    }
}

impl fmt::Display for Agency {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

/// A code of at most 24 ASCII characters, kept inline.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Code {
    bytes: [u8; 24],
    len: u8,
}

impl Code {
    pub(crate) const EMPTY: Self = Self {
        bytes: [0; 24],
        len: 0,
    };

    /// Keeps the pieces one after the other; nothing when they are not ASCII or too long.
    pub(crate) fn new(pieces: &[&str]) -> Option<Self> {
        let mut code = Self::EMPTY;
        for piece in pieces {
            let start = usize::from(code.len);
            let end = start + piece.len();
            if !piece.is_ascii() || end > code.bytes.len() {
                return None;
            }
            code.bytes[start..end].copy_from_slice(piece.as_bytes());
            code.len = u8::try_from(end).ok()?;
        }
        Some(code)
    }

    /// The code as text.
    pub fn as_str(&self) -> &str {
        // Only ASCII gets in, so the default is never used.
        std::str::from_utf8(&self.bytes[..usize::from(self.len)]).unwrap_or_default()
    }
}

impl Deref for Code {
    type Target = str;

    fn deref(&self) -> &str {
        self.as_str()
    }
}

impl fmt::Display for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.as_str())
    }
}

impl fmt::Debug for Code {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:?}", self.as_str())
    }
}

/// A product's identifier in its normal form, so that equal identifiers are equal bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Identifier {
    /// Who issues the code.
    pub agency: Agency,
    /// GS1: 14 digits. HIBCC: LIC, PCN and U/M without check character. ICCBBA: the device
    /// identifier after `=/`. IFA: the PPN. NDC: 12 digits.
    pub code: Code,
}

/// A catalogue's or typed identifier, with what is wrong about it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct ParsedIdentifier {
    /// The identifier in its normal form.
    pub identifier: Identifier,
    /// What a person should look at although the identifier can be used.
    pub fault: Option<IdentifierFault>,
    /// A second reading of the same text: an HIBCC code without `+` whose last digit can
    /// be the unit of measure or the check character. A catalogue keeps both.
    pub also: Option<Identifier>,
}

/// What is wrong with an identifier.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum IdentifierFault {
    /// Nothing is there.
    #[error("the identifier is empty")]
    Empty,
    /// Too short or too long for the agency.
    #[error("the identifier has the wrong length for its agency")]
    WrongLength,
    /// A character that the agency does not use.
    #[error("the identifier has a character that its agency does not use")]
    WrongCharacter,
    /// The check digit or check character does not fit.
    #[error("the check digit does not fit")]
    WrongCheckDigit,
    /// An NDC that can be cut into segments in more than one way.
    #[error("the code can be read in more than one way; write it with hyphens")]
    Undecidable,
}

impl IdentifierFault {
    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Empty => "empty",
            Self::WrongLength => "wrong_length",
            Self::WrongCharacter => "wrong_character",
            Self::WrongCheckDigit => "wrong_check_digit",
            Self::Undecidable => "undecidable",
        }
    }
}

impl Identifier {
    /// Brings a catalogue's or typed code to its normal form: GTIN-8, 12, 13 and 14 to 14
    /// digits, HIBCC codes with or without `+` and check character to the bare code.
    ///
    /// # Errors
    /// When the text cannot be a code of this agency. A wrong check digit is no error but
    /// the result's `fault`, because real catalogues hold such codes.
    pub fn parse(agency: Agency, text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
        let text = text.trim();
        if text.is_empty() {
            return Err(IdentifierFault::Empty);
        }
        match agency {
            Agency::Gs1 => Self::parse_gtin(text),
            Agency::Hibcc => hibcc::parse(text),
            Agency::Iccbba => Self::parse_iccbba(text),
            Agency::Ifa => Self::parse_ppn(text),
            Agency::Ndc => Self::parse_ndc(text),
        }
    }

    /// The identifier of a GTIN of 8, 12, 13 or 14 digits, its check digit not looked at.
    pub(crate) fn gtin(digits: &str) -> Option<Self> {
        let zeros = "00000000000000".get(digits.len()..)?;
        Some(Self {
            agency: Agency::Gs1,
            code: Code::new(&[zeros, digits])?,
        })
    }

    fn parse_gtin(text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
        if !text.bytes().all(|b| b.is_ascii_digit()) {
            return Err(IdentifierFault::WrongCharacter);
        }
        if !matches!(text.len(), 8 | 12 | 13 | 14) {
            return Err(IdentifierFault::WrongLength);
        }
        let identifier = Self::gtin(text).ok_or(IdentifierFault::WrongLength)?;
        let fault =
            (!gtin::check_digit_fits(text.as_bytes())).then_some(IdentifierFault::WrongCheckDigit);
        Ok(ParsedIdentifier {
            identifier,
            fault,
            also: None,
        })
    }

    /// 16 characters after an optional `=/` (ST-001), or 10 after `=)` for blood bags.
    fn parse_iccbba(text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
        let code = text
            .strip_prefix("=/")
            .or_else(|| text.strip_prefix("=)"))
            .unwrap_or(text);
        if !matches!(code.len(), 10 | 16) {
            return Err(IdentifierFault::WrongLength);
        }
        if !code
            .bytes()
            .all(|b| b.is_ascii_uppercase() || b.is_ascii_digit())
        {
            return Err(IdentifierFault::WrongCharacter);
        }
        Self::plain(Agency::Iccbba, code, None)
    }

    fn parse_ppn(text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
        let code = text
            .strip_prefix("9N")
            .filter(|rest| rest.len() >= 4)
            .unwrap_or(text);
        match ifa::check_ppn(code.as_bytes()) {
            Ok(()) => Self::plain(Agency::Ifa, code, None),
            Err(IdentifierFault::WrongCheckDigit) => {
                Self::plain(Agency::Ifa, code, Some(IdentifierFault::WrongCheckDigit))
            }
            Err(fault) => Err(fault),
        }
    }

    fn parse_ndc(text: &str) -> Result<ParsedIdentifier, IdentifierFault> {
        let ndc = Ndc::parse(text).map_err(|fault| match fault {
            NdcFault::WrongLength => IdentifierFault::WrongLength,
            NdcFault::WrongCharacter => IdentifierFault::WrongCharacter,
        })?;
        let identifier = ndc.identifier().ok_or(IdentifierFault::Undecidable)?;
        Ok(ParsedIdentifier {
            identifier,
            fault: None,
            also: None,
        })
    }

    fn plain(
        agency: Agency,
        code: &str,
        fault: Option<IdentifierFault>,
    ) -> Result<ParsedIdentifier, IdentifierFault> {
        let code = Code::new(&[code]).ok_or(IdentifierFault::WrongLength)?;
        Ok(ParsedIdentifier {
            identifier: Self { agency, code },
            fault,
            also: None,
        })
    }
}
