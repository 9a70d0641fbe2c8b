//! The reader against published vectors and worked examples.

#![expect(clippy::expect_used, reason = "a test fails by panicking")]

mod catalogue;
mod damage;
mod every_form;
mod gs1;
mod hibc;
mod ifa;
mod isbt128;
mod joining;
mod ndc;
#[path = "../../src/reference.rs"]
mod reference;
mod station;
mod wedge;

use jiff::civil::date;
use lotwarden_codes::{Context, Reading, Unread, read};
use serde_json::Value;

/// The day of the reading in every test here; the vectors' years are taken from it.
fn today() -> Context {
    Context::new(date(2026, 11, 24))
}

fn text<'v>(vector: &'v Value, key: &str) -> &'v str {
    vector[key].as_str().unwrap_or_default()
}

/// The elements of a reading as the vectors write them.
fn elements(reading: &Reading<'_>) -> Value {
    reading
        .elements
        .iter()
        .map(|(k, v)| Value::from(vec![k, v]))
        .collect()
}

/// One line for a vector that disagrees.
fn describe(vector: &Value, result: &Result<Reading<'_>, Unread>) -> String {
    format!(
        "{} expected {} got {result:?}",
        vector["input"], vector["valid"]
    )
}

/// Fails unless the disagreements are exactly the ones named with their reason.
fn only_named(found: Vec<(String, String)>, named: &[(&str, &str)]) {
    let unexpected: Vec<_> = found
        .iter()
        .filter(|(input, _)| !named.iter().any(|(n, _)| n == input))
        .collect();
    assert!(
        unexpected.is_empty(),
        "{} unexplained:\n{unexpected:#?}",
        unexpected.len()
    );
    if !found.is_empty() {
        for (input, reason) in named {
            assert!(
                found.iter().any(|(i, _)| i == input),
                "no longer a disagreement: {input:?} ({reason})"
            );
        }
    }
}

#[test]
fn the_reading_of_the_first_page_example_is_complete() {
    // GS1 example range 952; date from memory of GS1 General Specifications 3.4.
    let reading = read(
        "]d201095201234567881727123110ABC123\u{1d}21SN0001\r\n",
        &today(),
    )
    .expect("readable");
    let json = serde_json::to_value(&reading).expect("serialises");
    assert_eq!(json["form"], "gs1_element_string");
    assert_eq!(
        json["identifier"],
        serde_json::json!({"agency": "gs1", "code": "09520123456788"})
    );
    assert_eq!(
        (&json["lot"], &json["serial"]),
        (&Value::from("ABC123"), &Value::from("SN0001"))
    );
    assert_eq!(json["expires_on"], "2027-12-31");
    assert_eq!(json["warnings"], serde_json::json!([]));
    assert_eq!(json["symbology"], "]d2");
}

#[test]
fn an_unread_label_says_where_and_what_to_do() {
    let unread = read("]d2010952012345678817271301", &today()).expect_err("month 13");
    let json = serde_json::to_value(&unread).expect("serialises");
    assert_eq!(json["error"]["code"], "impossible_date");
    assert_eq!(json["error"]["at"], 23);
    assert!(
        json["error"]["message"]
            .as_str()
            .is_some_and(|m| m.ends_with('.'))
    );
}
