//! ISBT 128 device labels: strings and facts of ICCBBA ST-017 and ST-001 as quoted by the
//! sources named in the file, HL7 and FDA examples.

use lotwarden_codes::{Warning, read};
use serde_json::json;

use crate::{reference, text, today};

#[test]
fn worked_examples_agree() {
    for vector in reference::list("isbt128_udi.json", "vectors") {
        let input = text(&vector, "input");
        let result = read(input, &today());
        assert_eq!(
            result.is_ok(),
            vector["valid"] == true,
            "{input:?}: {result:?}"
        );
        let Ok(reading) = result else { continue };
        let expected = &vector["expected"];
        let either = |a: &str, b: &str| {
            if expected[a].is_null() {
                expected[b].clone()
            } else {
                expected[a].clone()
            }
        };
        let din = reading
            .elements
            .get("=")
            .map(|value| value[..13].to_owned());
        assert_eq!(json!(din), expected["din"], "{input:?}");
        assert_eq!(
            json!(reading.identifier.map(|i| i.code.to_string())),
            either("di", "di_blood_bag"),
            "{input:?}"
        );
        assert_eq!(
            json!(reading.lot),
            either("lot", "lot_blood_bag"),
            "{input:?}"
        );
        assert_eq!(json!(reading.serial), expected["serial"], "{input:?}");
        assert_eq!(
            json!(reading.expires_on.map(|d| d.date.to_string())),
            expected["expiry"],
            "{input:?}"
        );
        assert_eq!(
            json!(reading.manufactured_on.map(|d| d.date.to_string())),
            expected["production"],
            "{input:?}"
        );
    }
}

#[test]
fn letters_in_the_donation_number_are_reported_not_refused() {
    // The FDA's UDI formats document has this example.
    let reading = read(
        "=/1AB370000007JC89=,000000=1234567890ABC00=>030329=}025226",
        &today(),
    )
    .expect("readable");
    assert!(reading.warnings.contains(Warning::DonationNumberNotStrict));
}
