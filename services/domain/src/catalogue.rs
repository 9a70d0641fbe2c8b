//! Products: what a label's device identifier or drug code names.

use crate::label::ProductCode;
use crate::word::words;
use lotwarden_codes::{Agency, Identifier, IdentifierFault, Ndc};

words! {
    /// What a product is, coarsely.
    ProductKind, "product kind" {
        /// A single-use or reusable energy or power handpiece.
        Handpiece = "handpiece",
        /// A cannula.
        Cannula = "cannula",
        /// A needle.
        Needle = "needle",
        /// A gas, by its cylinder.
        Gas = "gas",
        /// A drug.
        Drug = "drug",
        /// A diluent for a mix.
        Diluent = "diluent",
        /// A filter.
        Filter = "filter",
        /// A compression garment.
        Garment = "garment",
        /// A dressing.
        Dressing = "dressing",
        /// A surgical instrument.
        Instrument = "instrument",
        /// A piece of equipment.
        Equipment = "equipment",
        /// Anything else.
        Other = "other",
    }
}

words! {
    /// How often a piece of a product may be used (FD&C 502(u), 502(v)).
    UseClass, "use class" {
        /// One piece, one case.
        SingleUse = "single_use",
        /// Reprocessed by the site between cases.
        Reusable = "reusable",
        /// A single-use device reprocessed by a registered reprocessor.
        ReprocessedSingleUse = "reprocessed_single_use",
    }
}

impl UseClass {
    /// Whether one piece may be on one case only.
    #[must_use]
    pub const fn one_case_only(self) -> bool {
        match self {
            Self::SingleUse | Self::ReprocessedSingleUse => true,
            Self::Reusable => false,
        }
    }
}

/// What a product's label has to carry (21 CFR 801.40(b); the GUDID flags of the same names).
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, serde::Serialize, serde::Deserialize,
)]
pub struct LabelCarries {
    /// A lot or batch number.
    pub lot: bool,
    /// A serial number.
    pub serial: bool,
    /// An expiry date.
    pub expiry: bool,
}

words! {
    /// What one package with an identifier holds.
    PackagingLevel, "packaging level" {
        /// One unit of use.
        Unit = "unit",
        /// A box, case or carton.
        Package = "package",
    }
}

/// One identifier of a product (21 CFR 830.40: a product may have several, none names two).
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct NewIdentifier {
    /// The agency and the code in its normal form.
    pub code: ProductCode,
    /// What one package with it holds.
    pub level: PackagingLevel,
    /// Units of use in one package; 1 for the level `unit`.
    pub quantity: u32,
    /// False for a code that stands in its catalogue with a check digit that does not fit.
    pub check_digit_right: bool,
}

impl NewIdentifier {
    /// Reads a catalogue's or typed code as the identifiers a scan of it can come as.
    ///
    /// More than one for an HIBCC code whose last character may be its check character, which is
    /// kept both ways, and for a National Drug Code, which comes inside a GTIN (21 CFR 201.25).
    ///
    /// # Errors
    /// When the text cannot be a code of the agency. A wrong check digit is no error: it is kept
    /// as printed, because real catalogues hold such codes.
    pub fn read(
        agency: Agency,
        text: &str,
        level: PackagingLevel,
        quantity: u32,
    ) -> Result<Vec<Self>, IdentifierFault> {
        let parsed = Identifier::parse(agency, text)?;
        let in_gtin = match agency {
            Agency::Ndc => Ndc::parse(text.trim()).ok().and_then(|ndc| ndc.gtin()),
            _ => None,
        };
        let all = [Some(parsed.identifier), parsed.also, in_gtin];
        let check_digit_right = parsed.fault != Some(IdentifierFault::WrongCheckDigit);
        let identifiers = all.into_iter().flatten().map(|identifier| Self {
            code: identifier.into(),
            level,
            quantity,
            check_digit_right,
        });
        Ok(identifiers.collect())
    }
}

impl From<Identifier> for ProductCode {
    fn from(identifier: Identifier) -> Self {
        Self {
            agency: identifier.agency.as_str(),
            code: identifier.code.as_str().to_owned(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn codes(agency: Agency, text: &str) -> Vec<String> {
        let identifiers = NewIdentifier::read(agency, text, PackagingLevel::Unit, 1).unwrap();
        identifiers.iter().map(|i| i.code.to_string()).collect()
    }

    // 0067-6382-30 and its UPC-A 300676382302: FDA's own example, with the 12 digits of 91 FR 10749.
    #[test]
    fn a_drug_code_is_kept_with_the_gtin_it_comes_in() {
        assert_eq!(
            codes(Agency::Ndc, "0067-6382-30"),
            ["ndc:000067638230", "gs1:00300676382302"]
        );
    }

    // 00841518100003 stands so in the public device database (openFDA, CC0).
    #[test]
    fn a_wrong_check_digit_is_kept_as_printed() {
        let read = NewIdentifier::read(Agency::Gs1, "00841518100003", PackagingLevel::Unit, 1);
        let identifiers = read.unwrap();
        assert_eq!(identifiers[0].code.code, "00841518100003");
        assert!(!identifiers[0].check_digit_right);
    }

    // A99912345 is the example of ANSI/HIBC 2.6, 2.1: LIC A999, PCN 1234, U/M 5, check character 7.
    #[test]
    fn an_hibcc_code_that_may_end_in_its_check_character_is_kept_both_ways() {
        assert_eq!(codes(Agency::Hibcc, "+A999123457"), ["hibcc:A99912345"]);
        assert_eq!(
            codes(Agency::Hibcc, "A999123457"),
            ["hibcc:A99912345", "hibcc:A999123457"]
        );
    }
}
