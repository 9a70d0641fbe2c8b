//! GS1 vectors from the reference engine's unit tests (Apache-2.0).

use jiff::civil::date;
use lotwarden_codes::{Context, Unwritable, bracketed, digital_link, element_string, read};
use serde_json::Value;

use crate::{describe, elements, only_named, reference, text, today};

/// Reads every vector of a file and gives the disagreements.
fn run(file: &str) -> Vec<(String, String)> {
    let mut found = Vec::new();
    for vector in reference::list(file, "vectors") {
        let mut context = today();
        context.associations = match text(&vector, "check") {
            "" => vector["options"]["req"] == true,
            // Held against the check of repeats alone, beside it: their elements need not exist.
            "validateAIrepeats" => continue,
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
    only_named(run("gs1_assoc.json"), &[]);
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

#[test]
fn element_strings_and_printed_text_are_written_as_the_engine_writes_them() {
    // The element lists and both spellings were made by the reference engine.
    for vector in reference::list("gs1_bracketed.json", "vectors") {
        let Some(list) = vector["elements"].as_array() else {
            continue;
        };
        let pairs = || {
            list.iter()
                .filter_map(|e| Some((e[0].as_str()?, e[1].as_str()?)))
        };
        let symbol = element_string(pairs()).expect("writable");
        assert_eq!(
            format!("^{}", symbol.replace('\u{1d}', "^")),
            text(&vector, "fnc1_form")
        );
        assert_eq!(
            bracketed(pairs(), true).expect("writable"),
            text(&vector, "bracketed")
        );
    }
}

#[test]
fn what_would_not_be_read_back_is_not_written() {
    assert_eq!(
        element_string([("89", "1")]),
        Err(Unwritable::UnknownElement)
    );
    assert_eq!(
        element_string([("01", "09520123456789")]),
        Err(Unwritable::WrongValue)
    );
    assert_eq!(bracketed([("10", "")], false), Err(Unwritable::WrongValue));
    assert_eq!(bracketed([("10", "A(B")], false), Ok("(10)A(B".to_owned()));
}

#[test]
fn the_century_follows_the_day_of_the_reading() {
    // GS1 General Specifications 7.12: 51 to 99 years ahead is the century before, 50 or
    // more behind the next one.
    for (today_is, printed, full) in [
        (2026, "76", 2076),
        (2026, "77", 1977),
        (2026, "26", 2026),
        (1999, "49", 2049),
        (2051, "01", 2101),
    ] {
        let context = Context::new(date(today_is, 6, 1));
        let label = format!("]d2010952012345678817{printed}0131");
        let reading = read(&label, &context).expect("readable");
        assert_eq!(
            reading.expires_on.map(|d| d.date),
            Some(date(full, 1, 31)),
            "{today_is} {printed}"
        );
    }
    // 2100 is no leap year, so its 29 February is refused although 2000's is not.
    let leap = "]d2010952012345678817000229";
    assert!(read(leap, &Context::new(date(2026, 1, 1))).is_ok());
    assert!(read(leap, &Context::new(date(2090, 1, 1))).is_err());
}
