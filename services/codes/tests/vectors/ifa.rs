//! IFA pharmacy labels and ISO/IEC 15434 messages, from the sources named in the file.

use lotwarden_codes::{Precision, Warning, read};
use serde_json::{Value, json};

use crate::{elements, reference, text, today};

#[test]
fn worked_examples_agree() {
    for vector in reference::list("ifa_iso15434.json", "vectors") {
        let input = text(&vector, "input");
        let result = read(input, &today());
        assert_eq!(
            result.is_ok(),
            vector["valid"] == true,
            "{input:?}: {result:?}"
        );
        let Ok(reading) = result else { continue };
        let expected = &vector["expected"];
        if expected["elements"].is_array() {
            assert_eq!(elements(&reading), expected["elements"]);
            continue;
        }
        let code = if expected["ppn"].is_null() {
            &expected["gtin"]
        } else {
            &expected["ppn"]
        };
        assert_eq!(
            &json!(reading.identifier.map(|i| i.code.to_string())),
            code,
            "{input:?}"
        );
        assert_eq!(json!(reading.lot), expected["lot"], "{input:?}");
        assert_eq!(json!(reading.serial), expected["serial"], "{input:?}");
        let expiry = reading.expires_on.map(|d| match d.precision {
            Precision::Month => d.date.strftime("%Y-%m").to_string(),
            _ => d.date.to_string(),
        });
        assert_eq!(json!(expiry), expected["expiry"], "{input:?}");
        let made = reading.manufactured_on.map(|d| d.date.to_string());
        assert_eq!(json!(made), expected["production"], "{input:?}");
        if let Value::Object(others) = &expected["other"] {
            for (key, value) in others {
                assert_eq!(reading.elements.get(key), value.as_str());
            }
        }
    }
}

#[test]
fn a_lost_trailer_is_reported_not_refused() {
    let reading = read(
        "]d1[)>\u{1e}06\u{1d}9N110375286414\u{1d}1T12345ABCD",
        &today(),
    )
    .expect("readable");
    assert!(reading.warnings.contains(Warning::TrailerMissing));
}

#[test]
fn control_characters_spelt_by_the_scanner_are_understood() {
    // The same message with pictures of the control characters, as the specification
    // prints it, and as a keyboard-wedge scanner spells them.
    for [rs, gs, eot] in [
        ["\u{241e}", "\u{241d}", "\u{2404}"],
        ["{RS}", "{GS}", "{EOT}"],
    ] {
        let message = format!("[)>{rs}06{gs}9N110375286414{gs}1T12345ABCD{gs}D150617{rs}{eot}");
        let reading = read(&message, &today()).expect("readable");
        assert_eq!(
            reading.identifier.expect("PPN").code.as_str(),
            "110375286414"
        );
        assert_eq!(reading.lot.as_deref(), Some("12345ABCD"));
        assert!(reading.warnings.is_empty());
    }
}
