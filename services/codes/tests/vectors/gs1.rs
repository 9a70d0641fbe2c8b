//! GS1 vectors from the reference engine's unit tests (Apache-2.0).

use lotwarden_codes::{digital_link, read};
use serde_json::Value;

use crate::{describe, elements, only_named, reference, text, today};

/// Reads every vector of a file and gives the disagreements.
fn run(file: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for vector in reference::list(file, "vectors") {
        let mut context = today();
        context.associations = match text(&vector, "check") {
            "" => vector["options"]["req"] == true,
            "validateAIrepeats" => false,
            _ => true,
        };
        let input = text(&vector, "input");
        let result = read(input, &context);
        let agrees = match &result {
            Ok(reading) => {
                vector["valid"] == true
                    && (vector["elements"].is_null() || elements(reading) == vector["elements"])
            }
            Err(_) => vector["valid"] == false,
        };
        if !agrees {
            found.push((input.to_owned(), describe(&vector, &result)));
        }
    }
    found
}

#[test]
fn fnc1_element_strings_agree() {
    only_named(run("gs1_fnc1.json"), &[]);
}

#[test]
fn bracketed_strings_agree() {
    only_named(run("gs1_bracketed.json"), &[]);
}

#[test]
fn scans_with_symbology_identifiers_agree() {
    only_named(run("gs1_scan.json"), &[]);
}

#[test]
fn healthcare_strings_agree() {
    let named = [(
        "]d2\u{1d}0109520123456788",
        "scanners do send the leading FNC1 as GS; the engine refuses it, a station must not",
    )];
    only_named(run("gs1_healthcare.json"), &named);
}

#[test]
fn associations_agree() {
    let named = [(
        "(89)ABC(89)ABC(89)ABC",
        "AI 89 is not assigned; the engine was told to accept unknown AIs",
    )];
    only_named(run("gs1_assoc.json"), &named);
}

#[test]
fn expiry_dates_of_the_healthcare_strings_agree() {
    for vector in reference::list("gs1_healthcare.json", "vectors") {
        let Some(expiry) = vector["expiry"].as_str() else {
            continue;
        };
        let reading = read(text(&vector, "input"), &today()).expect("readable");
        let date = reading.expires_on.expect("dated");
        assert_eq!(date.date.to_string(), expiry);
        assert_eq!(
            Value::from(date.precision.as_str()),
            vector["expiry_precision"]
        );
    }
}

#[test]
fn digital_links_agree() {
    only_named(run("gs1_dl.json"), &[]);
}

#[test]
fn digital_links_are_written_as_the_engine_writes_them() {
    // GS1 reference engine, test_dl_generateDLuri (Apache-2.0).
    for vector in reference::list("gs1_dlgen.json", "vectors") {
        let mut context = today();
        context.associations = false;
        let reading = read(text(&vector, "input"), &context).expect("elements");
        let link = digital_link(&reading.elements, vector["stem"].as_str());
        assert_eq!(
            link.ok(),
            vector["uri"].as_str().map(String::from),
            "{vector}"
        );
    }
}

#[test]
fn every_key_and_qualifier_sequence_is_a_path() {
    // GS1 reference engine, test_dl_isValidDLpathAIseq (Apache-2.0); values are made up to
    // fit, with check digits by hand.
    let value = |ai: &str| match ai {
        "00" => "006141411234567890",
        "01" => "09520123456788",
        "414" | "417" => "9520123456788",
        "402" => "95212345678901235",
        "8003" => "09521234543213",
        "8006" => "095201234567880102",
        "8010" => "952012345",
        "8013" => "1987654Ad4X4bL5ttr2310c2K",
        "8017" | "8018" => "952000012345678907",
        "7040" => "1AB1",
        _ => "12345",
    };
    let mut context = today();
    context.associations = false;
    for vector in reference::list("gs1_dlpathseq.json", "vectors") {
        let path: Vec<_> = vector["ais"]
            .as_array()
            .expect("list")
            .iter()
            .filter_map(Value::as_str)
            .collect();
        let uri: String = path
            .iter()
            .map(|ai| format!("/{ai}/{}", value(ai)))
            .collect();
        let result = read(&format!("https://example.com{uri}"), &context).map(|r| r.elements.len());
        assert_eq!(result.as_ref().ok(), Some(&path.len()), "{uri}: {result:?}");
    }
}
