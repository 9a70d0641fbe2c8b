//! What people ask with: an identifier as typed, printed or scanned.

use super::Question;
use jiff::civil::Date;
use lotwarden_codes::Agency;
use lotwarden_domain::catalogue::{NewIdentifier, PackagingLevel};
use lotwarden_domain::label::{Circumstances, Label, ProductCode};

/// The text names no product.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error(
    "not an identifier: give a GTIN of 8, 12, 13 or 14 digits, an HIBC code, an NDC, the text of a \
     scanned label, or agency:code"
)]
pub struct NotAnIdentifier;

impl Question {
    /// Reads an identifier: `agency:code`, the text of a scanned label, or a code as it is typed. A
    /// label's own lot and serial count when none is given beside it.
    ///
    /// # Errors
    /// [`NotAnIdentifier`].
    pub fn read(
        identifier: &str,
        lot: Option<String>,
        serial: Option<String>,
        today: Date,
    ) -> Result<Self, NotAnIdentifier> {
        let text = identifier.trim();
        let named = text.split_once(':').and_then(|(agency, code)| {
            let agency: Agency = agency.parse().ok()?;
            Some((agency, code))
        });
        if let Some((agency, code)) = named {
            let codes = typed(agency, code).ok_or(NotAnIdentifier)?;
            return Ok(Self { codes, lot, serial });
        }
        if let Ok(label) = Label::read(text, Circumstances::on(today))
            && let Some(code) = &label.code
        {
            let agency = code.agency.parse().ok();
            let both = agency.and_then(|agency| typed(agency, &code.code));
            let mut codes = both.unwrap_or_else(|| vec![code.clone()]);
            codes.extend(label.also.filter(|also| !codes.contains(also)));
            return Ok(Self {
                codes,
                lot: lot.or(label.lot),
                serial: serial.or(label.serial),
            });
        }
        let agencies = [Agency::Hibcc, Agency::Iccbba, Agency::Ifa, Agency::Ndc];
        let codes = agencies.into_iter().find_map(|agency| typed(agency, text));
        let codes = codes.ok_or(NotAnIdentifier)?;
        Ok(Self { codes, lot, serial })
    }
}

/// Every identifier the code can stand in the catalogue as, the likeliest first.
fn typed(agency: Agency, code: &str) -> Option<Vec<ProductCode>> {
    let read = NewIdentifier::read(agency, code, PackagingLevel::Unit, 1).ok()?;
    Some(read.into_iter().map(|found| found.code).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn codes(text: &str) -> Vec<String> {
        let question = Question::read(text, None, None, date(2026, 11, 24)).unwrap();
        question.codes.iter().map(ToString::to_string).collect()
    }

    // Prefix 952 is GS1's example range; a GTIN-12 or 13 is padded to 14 digits (GS1 General
    // Specifications, 3.3.2).
    #[test]
    fn a_gtin_is_found_however_it_is_written() {
        for text in [
            "9520123456788",
            "09520123456788",
            "gs1:9520123456788",
            "(01)09520123456788",
        ] {
            assert_eq!(codes(text), ["gs1:09520123456788"], "{text}");
        }
    }

    #[test]
    fn a_label_brings_its_own_lot() {
        let text = "(01)09520123456788(10)A(21)1";
        let question = Question::read(text, None, Some("2".to_owned()), date(2026, 11, 24));
        let question = question.unwrap();
        assert_eq!(question.lot.as_deref(), Some("A"));
        assert_eq!(question.serial.as_deref(), Some("2"));
    }

    #[test]
    fn what_names_no_product_is_refused() {
        let read = |text| Question::read(text, None, None, date(2026, 11, 24));
        assert_eq!(read("").unwrap_err(), NotAnIdentifier);
        assert_eq!(read("gs1:12x").unwrap_err(), NotAnIdentifier);
        assert_eq!(read("(10)ABC").unwrap_err(), NotAnIdentifier);
    }

    // Common practice, no source: catalogues write HIBCC codes with or without the check character.
    #[test]
    fn an_hibcc_code_is_asked_for_both_ways() {
        assert!(codes("A9991234C5").contains(&"hibcc:A9991234C5".to_owned()));
    }
}
