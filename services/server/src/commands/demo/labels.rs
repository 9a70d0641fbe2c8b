//! The characters on a product's labels, as a scanner delivers them.

use anyhow::Context;
use jiff::civil::Date;
use lotwarden_codes::{Agency, element_string};

use super::products::DemoProduct;

/// What is printed beside the identifier.
#[derive(Clone, Copy, Default)]
pub struct Printed<'a> {
    /// The lot.
    pub lot: Option<&'a str>,
    /// The serial.
    pub serial: Option<&'a str>,
    /// The last usable day.
    pub expires_on: Option<Date>,
}

impl DemoProduct {
    /// The label of one unit of use.
    ///
    /// # Errors
    /// The values do not fit the label's form.
    pub fn unit_label(&self, printed: Printed<'_>) -> anyhow::Result<String> {
        self.label(self.unit, printed)
    }

    /// The label of what is delivered: the box, or the unit where there is no box.
    ///
    /// # Errors
    /// The values do not fit the label's form.
    pub fn delivery_label(&self, printed: Printed<'_>) -> anyhow::Result<String> {
        self.label(self.package.map_or(self.unit, |(code, _)| code), printed)
    }

    fn label(&self, code: &str, printed: Printed<'_>) -> anyhow::Result<String> {
        let expiry = printed.expires_on.map(|date| {
            let day = if self.month_only { 0 } else { date.day() };
            format!("{:02}{:02}{day:02}", date.year() % 100, date.month())
        });
        if self.agency == Agency::Hibcc {
            return hibc(code, printed.lot.unwrap_or_default(), expiry.as_deref());
        }
        let elements = [
            ("01", Some(code)),
            ("17", expiry.as_deref()),
            ("10", printed.lot),
            ("21", printed.serial),
        ];
        let elements = elements
            .into_iter()
            .filter_map(|(key, value)| Some((key, value?)));
        let text = element_string(elements).with_context(|| format!("label of {}", self.name))?;
        // ]d2 says that the symbol is a GS1 DataMatrix (ISO/IEC 15424).
        Ok(format!("]d2{text}"))
    }
}

/// A concatenated HIBC label: primary, `/$$3`, date as year, month, day, lot, check character
/// (ANSI/HIBC 2.6, 2.3.2).
fn hibc(primary: &str, lot: &str, expiry: Option<&str>) -> anyhow::Result<String> {
    let unchecked = primary
        .get(..primary.len().saturating_sub(1))
        .unwrap_or_default();
    let secondary = match expiry {
        Some(date) => format!("/$$3{date}{lot}"),
        None => format!("/${lot}"),
    };
    let text = format!("{unchecked}{secondary}");
    let check = check_character(&text).context("a character that HIBC labels do not have")?;
    Ok(format!("{text}{check}"))
}

/// The modulo 43 check character (ANSI/HIBC 2.6, appendix B).
fn check_character(text: &str) -> Option<char> {
    const ALPHABET: &str = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";
    let values = text.chars().map(|letter| ALPHABET.find(letter));
    let sum = values.sum::<Option<usize>>()?;
    ALPHABET.chars().nth(sum % 43)
}

#[cfg(test)]
mod tests {
    use super::super::products::{self, FILTER, STRIP};
    use super::*;
    use jiff::civil::date;
    use lotwarden_domain::label::{Circumstances, Label};

    // ANSI/HIBC 2.6, 2.2.1.1, as public barcode libraries quote it: check character 3.
    #[test]
    fn the_check_character_is_that_of_the_standards_example() {
        assert_eq!(check_character("+A99912345/$$52001510X3"), Some('3'));
    }

    #[test]
    fn every_label_reads_back_as_printed() {
        let printed = Printed {
            lot: Some("AB260901"),
            serial: None,
            expires_on: Some(date(2028, 2, 29)),
        };
        for product in products::ALL {
            for text in [
                product.unit_label(printed).unwrap(),
                product.delivery_label(printed).unwrap(),
            ] {
                let label = Label::read(&text, Circumstances::on(date(2026, 11, 24))).unwrap();
                assert_eq!(label.lot.as_deref(), Some("AB260901"), "{text}");
                assert_eq!(label.expires_on, printed.expires_on, "{text}");
                assert!(!label.wrong_check_digit, "{text}");
                assert_eq!(label.day_not_on_label, std::ptr::eq(product, &STRIP));
            }
        }
        assert!(FILTER.unit_label(printed).unwrap().starts_with("+A999"));
    }
}
