//! What a label said.

use std::borrow::Cow;

use crate::{Agency, Elements, Identifier, LabelDate, Ndc, Symbology, Warnings};

/// What a label said: its pieces as printed, and the identity they carry.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading<'a> {
    /// Which form the label has.
    pub form: Form,
    /// The symbology, when the scanner sent its identifier (ISO/IEC 15424).
    pub symbology: Option<Symbology>,
    /// Every piece of the label in the order printed.
    pub elements: Elements<'a>,
    /// The product the label names. Parties, places, people and contents of a larger
    /// unit are not products and stand among the elements only.
    pub identifier: Option<Identifier>,
    /// The lot exactly as printed.
    pub lot: Option<Cow<'a, str>>,
    /// The serial number exactly as printed.
    pub serial: Option<Cow<'a, str>>,
    /// The last day the item may be used.
    pub expires_on: Option<LabelDate>,
    /// The day of manufacture.
    pub manufactured_on: Option<LabelDate>,
    /// How many pieces the label states.
    pub quantity: Option<u32>,
    /// The link character of an HIBC secondary label: the check character of the primary
    /// label it belongs to (ANSI/HIBC 2.6, 2.2).
    pub link: Option<char>,
    /// The National Drug Code inside a UPC-A or GTIN-14, or typed alone.
    pub ndc: Option<Ndc>,
    /// What a person should know about this label.
    pub warnings: Warnings,
}

impl Reading<'_> {
    /// Every identifier under which a catalogue may know the product, the label's own
    /// first: then the GTIN and the NDC that stand for the same drug package.
    pub fn identifiers(&self) -> impl Iterator<Item = Identifier> {
        let own = self.identifier;
        let other = [
            self.ndc.and_then(|n| n.gtin()),
            self.ndc.and_then(|n| n.identifier()),
        ];
        // A case's GTIN is not the package's: only the item level stands for the NDC.
        let item = own.is_none_or(|i| i.agency == Agency::Ndc || Some(i) == other[0]);
        own.into_iter().chain(
            other
                .into_iter()
                .flatten()
                .filter(move |o| item && Some(*o) != own),
        )
    }

    /// The same reading without a borrow of the input.
    pub fn into_owned(self) -> Reading<'static> {
        let owned = |text: Cow<'_, str>| Cow::Owned(text.into_owned());
        Reading {
            form: self.form,
            symbology: self.symbology,
            elements: self.elements.into_owned(),
            identifier: self.identifier,
            lot: self.lot.map(owned),
            serial: self.serial.map(owned),
            expires_on: self.expires_on,
            manufactured_on: self.manufactured_on,
            quantity: self.quantity,
            link: self.link,
            ndc: self.ndc,
            warnings: self.warnings,
        }
    }

    pub(crate) fn new(form: Form) -> Self {
        Self {
            form,
            symbology: None,
            elements: Elements::default(),
            identifier: None,
            lot: None,
            serial: None,
            expires_on: None,
            manufactured_on: None,
            quantity: None,
            link: None,
            ndc: None,
            warnings: Warnings::default(),
        }
    }
}

/// The forms a label can have.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// GS1 element string as scanned.
    Gs1ElementString,
    /// GS1 element string as printed, identifiers in brackets.
    Gs1Bracketed,
    /// GS1 Digital Link URI.
    Gs1DigitalLink,
    /// A bare GTIN of an EAN, UPC or ITF-14 symbol, or typed.
    Gtin,
    /// HIBC primary label.
    HibcPrimary,
    /// HIBC secondary label.
    HibcSecondary,
    /// HIBC primary and secondary label in one symbol.
    HibcConcatenated,
    /// ISBT 128 data structures.
    Isbt128,
    /// ISO/IEC 15434 message in format 05: GS1 elements.
    Iso15434Format05,
    /// ISO/IEC 15434 message in format 06: data identifiers (IFA labels).
    Iso15434Format06,
    /// National Drug Code.
    Ndc,
    /// Text of a known symbology that carries no identification.
    Plain,
}

impl Form {
    /// The permanent name, in snake case.
    pub fn as_str(self) -> &'static str {
        match self {
            Self::Gs1ElementString => "gs1_element_string",
            Self::Gs1Bracketed => "gs1_bracketed",
            Self::Gs1DigitalLink => "gs1_digital_link",
            Self::Gtin => "gtin",
            Self::HibcPrimary => "hibc_primary",
            Self::HibcSecondary => "hibc_secondary",
            Self::HibcConcatenated => "hibc_concatenated",
            Self::Isbt128 => "isbt_128",
            Self::Iso15434Format05 => "iso_15434_05",
            Self::Iso15434Format06 => "iso_15434_06",
            Self::Ndc => "ndc",
            Self::Plain => "plain",
        }
    }
}
