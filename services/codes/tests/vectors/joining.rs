//! Several symbols of one label. The HIBC pair is ANSI/HIBC 2.6 4.3.2 (link G); the GS1
//! rule that pairings hold over all carriers of an item is the GS1 Barcode Syntax
//! Dictionary's.

use jiff::civil::date;
use lotwarden_codes::{Contradiction, Form, join, read};

use crate::today;

fn joined(first: &str, second: &str) -> Result<String, Vec<&'static str>> {
    let context = today();
    let mut single = today();
    single.associations = false;
    let a = read(first, &single).expect(first);
    let b = read(second, &single).expect(second);
    join(a, b, &context)
        .map(|r| {
            format!(
                "{} {} {}",
                r.form.as_str(),
                r.lot.unwrap_or_default(),
                r.serial.unwrap_or_default()
            )
        })
        .map_err(|c| c.iter().map(Contradiction::as_str).collect())
}

#[test]
fn a_secondary_label_joins_the_primary_that_its_link_names() {
    for (first, second) in [
        ("+A123BJC5D6E71G", "+$$52001510X3GD"),
        ("+$$52001510X3GD", "+A123BJC5D6E71G"),
    ] {
        let reading = join(
            read(first, &today()).expect(first),
            read(second, &today()).expect(second),
            &today(),
        );
        let reading = reading.expect("one label");
        assert_eq!(reading.form, Form::HibcConcatenated);
        assert_eq!(
            reading.identifier.expect("primary").code.as_str(),
            "A123BJC5D6E71"
        );
        assert_eq!(reading.lot.as_deref(), Some("10X3"));
        assert_eq!(reading.expires_on.map(|d| d.date), Some(date(2020, 1, 15)));
    }
}

#[test]
fn another_link_or_another_product_does_not_join() {
    assert_eq!(joined("+A123BJC5D6E71G", "+05271LY"), Err(vec!["link"]));
    assert_eq!(
        joined("+A123BJC5D6E71G", "+A123BJCMD6E79+"),
        Err(vec!["product"])
    );
    assert_eq!(
        joined("+$$52001510X3GD", "+$$710X3G7"),
        Err(vec!["no_product", "link"])
    );
    assert_eq!(
        joined("]d20109520123456788", "+$$52001510X3GD"),
        Err(vec!["system", "link"])
    );
}

#[test]
fn a_gs1_product_joins_its_production_data() {
    assert_eq!(
        joined("]C10109520123456788", "]C11727123110ABC123"),
        Ok("gs1_element_string ABC123 ".to_owned())
    );
    assert_eq!(
        joined("]E00300676382302", "]C110ABC123"),
        Ok("gtin ABC123 ".to_owned())
    );
    // The same symbol twice is one label.
    assert_eq!(
        joined("]C1010952012345678810A", "]C1010952012345678810A"),
        Ok("gs1_element_string A ".to_owned())
    );
}

#[test]
fn every_contradiction_is_reported() {
    let found = joined(
        "]d2010952012345678817271231 10A\u{1d}21S1"
            .replace(' ', "")
            .as_str(),
        "]C11727123010B\u{1d}21S2",
    );
    assert_eq!(found, Err(vec!["lot", "serial", "expires_on", "element"]));
    // 01 and 37 exclude each other, 250 needs 21 (dictionary).
    assert_eq!(
        joined("]C10109520123456788", "]C1375"),
        Err(vec!["forbidden_pair"])
    );
    assert_eq!(
        joined("]C10109520123456788", "]C1250X"),
        Err(vec!["missing_companion"])
    );
}

#[test]
fn a_printed_day_is_finer_than_the_month_that_holds_it() {
    let first = "+A123BJC5D6E71/$$1224L1G".to_owned();
    let check = mod43(&first[..first.len() - 1]);
    let concatenated = format!("{}{check}", &first[..first.len() - 1]);
    let second = "+A123BJC5D6E71/$$3241215L1";
    let second = format!("{second}{}", mod43(second));
    let month = read(&concatenated, &today()).expect("month");
    let day = read(&second, &today()).expect("day");
    let reading = join(month, day, &today()).expect("one label");
    assert_eq!(reading.expires_on.map(|d| d.date), Some(date(2024, 12, 15)));
}

/// Modulo 43 over the alphabet of ANSI/HIBC 2.6, written out a second time for the tests.
pub(crate) fn mod43(text: &str) -> char {
    let alphabet = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ-. $/+%";
    let sum: usize = text.chars().filter_map(|c| alphabet.find(c)).sum();
    alphabet.chars().nth(sum % 43).expect("in range")
}
