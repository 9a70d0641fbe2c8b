//! HIBC worked examples (ANSI/HIBC 2.6 as quoted by the sources named in the file) and
//! real labels.

use lotwarden_codes::{CheckDigits, LabelDate, Precision, Reading, Warning, read};
use serde_json::{Value, json};

use crate::joining::mod43;
use crate::{reference, text, today};

#[test]
fn worked_examples_and_real_labels_agree() {
    let mut found = Vec::new();
    for vector in reference::list("hibc.json", "vectors") {
        let input = text(&vector, "input");
        let result = read(input, &today());
        let problem = match &result {
            Err(unread) if vector["valid"] == true => Some(format!("{unread:?}")),
            Err(_) => None,
            Ok(_) if vector["valid"] == false => Some(format!("read, but {}", vector["error"])),
            Ok(reading) => differs(reading, &vector["expected"]),
        };
        if let Some(problem) = problem {
            found.push(format!("{input:?}: {problem}"));
        }
    }
    assert!(found.is_empty(), "{} disagree:\n{found:#?}", found.len());
}

fn differs(reading: &Reading<'_>, expected: &Value) -> Option<String> {
    let form = format!("hibc_{}", text(expected, "form"));
    let found = json!({
        "form": reading.form.as_str(),
        "link": reading.link.map(String::from),
        "di": reading.identifier.map(|i| i.code.to_string()),
        "lot": reading.lot,
        "serial": reading.serial,
        "quantity": reading.quantity,
        "expiry": reading.expires_on.map(printed),
        "precision": reading.expires_on.map(|d| d.precision.as_str()),
        "hour": reading.expires_on.and_then(|d| d.time).map(|t| t.hour()),
        "production": reading.manufactured_on.map(printed),
    });
    let wanted = json!({
        "form": form,
        "link": expected["link"],
        "di": expected["di"],
        "lot": expected["lot"],
        "serial": expected["serial"],
        "quantity": expected["quantity"],
        "expiry": expected["expiry"],
        "precision": expected["expiry_precision"],
        "hour": expected["expiry_hour_utc"],
        "production": expected["production"],
    });
    (found != wanted).then(|| format!("found {found}, expected {wanted}"))
}

/// The date as far as the label prints it.
fn printed(date: LabelDate) -> String {
    match date.precision {
        Precision::Month => date.date.strftime("%Y-%m").to_string(),
        _ => date.date.to_string(),
    }
}

#[test]
fn the_published_example_with_the_wrong_check_character_needs_toleration() {
    // HL7 FHIR Device example udi3 and the FDA document end in C; modulo 43 gives H.
    let input =
        "+H123PARTNO1234567890120/$$420020216LOT123456789012345/SXYZ456789012345678/16D20130202C";
    assert_eq!(
        read(input, &today()).expect_err("wrong").code.as_str(),
        "wrong_check_digit"
    );
    let mut context = today();
    context.check_digits = CheckDigits::Tolerate;
    let reading = read(input, &context).expect("tolerated");
    assert!(reading.warnings.contains(Warning::WrongCheckDigit));
    assert_eq!(reading.serial.as_deref(), Some("XYZ456789012345678"));
}

#[test]
fn asterisks_printed_around_the_data_are_not_data() {
    // ANSI/HIBC 2.6: start and stop characters are shown as asterisks (memory).
    let reading = read("*+A123BJC5D6E71G*", &today()).expect("readable");
    assert_eq!(
        reading.identifier.expect("primary").code.as_str(),
        "A123BJC5D6E71"
    );
}

#[test]
fn supplements_may_follow_the_primary_data_at_once() {
    // ANSI/HIBC 2.6 2.3.2: supplements are cut off by slashes; data made up.
    let body = "+A123BJC5D6E71/S12345/14D20281231/16D20260102/Q5";
    let label = format!("{body}{}", mod43(body));
    let reading = read(&label, &today()).expect("readable");
    assert_eq!(
        (reading.serial.as_deref(), reading.quantity),
        (Some("12345"), Some(5))
    );
    assert_eq!(
        reading.expires_on.map(|d| d.date.to_string()),
        Some("2028-12-31".to_owned())
    );
    let keys: Vec<_> = reading.elements.iter().map(|(key, _)| key).collect();
    assert_eq!(keys, ["+", "S", "14D", "16D", "Q"]);
}

#[test]
fn a_space_typed_behind_the_label_is_not_its_check_character() {
    let reading = read("+A123BJC5D6E71G ", &today()).expect("readable");
    assert_eq!(
        reading.identifier.expect("primary").code.as_str(),
        "A123BJC5D6E71"
    );
}
