//! Labels as scanners send them. GTINs lie in 952, the prefix that GS1 keeps for examples; the LIC
//! A999 is the example of ANSI/HIBC 2.6.

use std::sync::atomic::{AtomicU32, Ordering};

/// FNC1 as scanners send it within the data (GS1 General Specifications, 7.8.1).
pub const GS: char = '\u{1d}';

/// A GTIN-14 of the example range that no test had before.
pub fn fresh_gtin() -> String {
    static COUNT: AtomicU32 = AtomicU32::new(0);
    gtin(COUNT.fetch_add(1, Ordering::Relaxed))
}

/// The GTIN-14 of an item number below 1,000,000,000.
pub fn gtin(item: u32) -> String {
    let body = format!("0952{item:09}");
    format!("{body}{}", check_digit(&body))
}

/// GS1 General Specifications, 7.9.1: weights 3 and 1 from the right, to the next ten.
pub fn check_digit(body: &str) -> u32 {
    let digits = body.bytes().rev().map(|digit| u32::from(digit - b'0'));
    let sum: u32 = digits
        .enumerate()
        .map(|(at, digit)| if at % 2 == 0 { 3 * digit } else { digit })
        .sum();
    (10 - sum % 10) % 10
}

/// A label of a GS1 element string: GTIN, and what else the label carries.
#[derive(Clone, Debug, Default)]
pub struct Label {
    pub gtin: String,
    /// YYMMDD.
    pub expiry: Option<String>,
    pub lot: Option<String>,
    pub serial: Option<String>,
}

impl Label {
    pub fn of(gtin: &str) -> Self {
        Self {
            gtin: gtin.to_owned(),
            ..Self::default()
        }
    }

    pub fn expiry(self, expiry: &str) -> Self {
        Self {
            expiry: Some(expiry.to_owned()),
            ..self
        }
    }

    pub fn lot(self, lot: &str) -> Self {
        Self {
            lot: Some(lot.to_owned()),
            ..self
        }
    }

    pub fn serial(self, serial: &str) -> Self {
        Self {
            serial: Some(serial.to_owned()),
            ..self
        }
    }

    /// The characters of a GS1 DataMatrix with its symbology identifier.
    pub fn text(&self) -> String {
        let mut text = format!("]d201{}", self.gtin);
        let mut add = |key: &str, value: &Option<String>| {
            if let Some(value) = value {
                text.push_str(&format!("{key}{value}"));
            }
        };
        add("17", &self.expiry);
        add("10", &self.lot);
        if self.lot.is_some() && self.serial.is_some() {
            add("", &Some(GS.to_string()));
        }
        add("21", &self.serial);
        text
    }
}

#[test]
fn the_check_digit_is_that_of_the_worked_example() {
    // GS1, "How to calculate a check digit manually": 629104150021 has the check digit 3.
    assert_eq!(check_digit("629104150021"), 3);
}
