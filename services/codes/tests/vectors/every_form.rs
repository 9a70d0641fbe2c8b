//! Every identifier of 30,000 device records (FDA's public device database, CC0) in every
//! form that its agency allows, and ISBT 128's worked examples likewise.

mod labels;

use std::io::{BufRead, BufReader};
use std::path::PathBuf;

use lotwarden_codes::{
    Agency, CheckDigits, Context, Identifier, IdentifierFault, Warning, join, read,
};
use serde_json::Value;

use crate::joining::mod43;
use crate::{reference, text, today};

use labels::{LOT, forms, says};

/// Agency and code of every identifier, or nothing with a printed reason.
fn identifiers() -> Vec<(Agency, String)> {
    let folder = std::env::var_os("LOTWARDEN_REFERENCE")
        .map(PathBuf::from)
        .unwrap_or_else(|| {
            concat!(env!("CARGO_MANIFEST_DIR"), "/../../../shared/reference").into()
        });
    let path = folder.join("openfda/gudid_sample_30k.ndjson.gz");
    let file = match std::fs::File::open(&path) {
        Ok(file) => file,
        Err(reason) => {
            eprintln!("skipped: {}: {reason}", path.display());
            return Vec::new();
        }
    };
    let mut found = Vec::new();
    for line in BufReader::new(flate2::read::GzDecoder::new(file)).lines() {
        let record: Value = serde_json::from_str(&line.expect("text")).expect("JSON");
        for identifier in record["ids"].as_array().expect("ids") {
            let code = identifier[0].as_str().expect("code");
            let agency = identifier[2].as_str().expect("agency");
            found.push((agency.parse().expect(agency), code.to_owned()));
        }
    }
    found
}

/// Every form must be read to this identifier, in silence.
fn is_read_in_every_form(identifier: Identifier) {
    for (form, carried) in forms(identifier.agency, &identifier.code) {
        let reading = read(&form, &today()).unwrap_or_else(|e| panic!("{form:?}: {e:?}"));
        assert_eq!(reading.identifier, Some(identifier), "{form:?}");
        assert!(says(&reading, carried), "{form:?}: {reading:?}");
    }
}

/// Every form must be refused for its check digit, and read with a warning where that is asked.
fn is_reported_in_every_form(identifier: Identifier) {
    let tolerant = Context {
        check_digits: CheckDigits::Tolerate,
        ..today()
    };
    for (form, carried) in forms(identifier.agency, &identifier.code) {
        let unread = read(&form, &today()).expect_err(&form);
        assert_eq!(unread.code.as_str(), "wrong_check_digit", "{form:?}");
        let reading = read(&form, &tolerant).unwrap_or_else(|e| panic!("{form:?}: {e:?}"));
        assert_eq!(reading.identifier, Some(identifier), "{form:?}");
        assert!(says(&reading, carried), "{form:?}: {reading:?}");
        assert!(
            reading.warnings.contains(Warning::WrongCheckDigit),
            "{form:?}"
        );
    }
}

#[test]
fn every_device_identifier_is_read_in_every_form_and_wrong_check_digits_are_reported() {
    let all = identifiers();
    let mut wrong = Vec::new();
    for (agency, code) in &all {
        let parsed = Identifier::parse(*agency, code).unwrap_or_else(|e| panic!("{code}: {e}"));
        match parsed.fault {
            None => is_read_in_every_form(parsed.identifier),
            Some(fault) => {
                assert_eq!(fault, IdentifierFault::WrongCheckDigit, "{code}");
                is_reported_in_every_form(parsed.identifier);
                wrong.push(code.as_str());
            }
        }
    }
    wrong.sort_unstable();
    wrong.dedup();
    println!("{} identifiers, wrong check digits: {wrong:?}", all.len());
    // Two of the ten that an independent check found in the larger file of 50,000 records.
    assert!(
        all.is_empty() || wrong.contains(&"00841518100003"),
        "{wrong:?}"
    );
}

#[test]
fn a_changed_check_digit_is_reported_in_every_form() {
    // One in forty, because a debug build reads a million forms otherwise.
    for (agency, code) in identifiers()
        .iter()
        .filter(|(a, _)| *a == Agency::Gs1)
        .step_by(40)
    {
        let right = Identifier::parse(*agency, code).expect(code);
        let (body, digit) = right.identifier.code.split_at(13);
        let next = char::from_digit((digit.parse::<u32>().expect("digit") + 1) % 10, 10);
        let changed = format!("{body}{}", next.expect("digit"));
        // Twelve digits that begin with 0 and are no UPC-A are the drug code of twelve digits
        // (21 CFR 207.33 as of 2033-03-07).
        if right.fault.is_some() || changed.starts_with("000") {
            continue;
        }
        let parsed = Identifier::parse(*agency, &changed).expect(&changed);
        assert_eq!(
            parsed.fault,
            Some(IdentifierFault::WrongCheckDigit),
            "{changed}"
        );
        is_reported_in_every_form(parsed.identifier);
    }
}

#[test]
fn every_hibcc_code_is_one_with_and_without_its_check_character_and_joins_its_secondary_label() {
    let (mut ends_in_check, mut all) = (0, 0);
    for (agency, printed) in identifiers() {
        if agency != Agency::Hibcc {
            continue;
        }
        let parsed = Identifier::parse(agency, &printed).expect(&printed);
        let code = parsed.identifier.code.as_str();
        let check = mod43(&format!("+{code}"));
        all += 1;
        ends_in_check += usize::from(printed != code);
        for written in [
            format!("{code}{check}"),
            format!("+{code}{check}"),
            format!("*+{code}{check}*"),
        ] {
            let again = Identifier::parse(agency, &written).expect(&written);
            assert_eq!(
                (again.identifier, again.fault),
                (parsed.identifier, None),
                "{written}"
            );
        }
        if check == ' ' {
            assert_eq!(
                Identifier::parse(agency, &format!("+{code}_")),
                Identifier::parse(agency, &format!("+{code} "))
            );
        }
        let wrong = if check == 'A' { 'B' } else { 'A' };
        let misprinted = format!("+{code}{wrong}");
        assert_eq!(
            read(&misprinted, &today())
                .expect_err(&misprinted)
                .code
                .as_str(),
            "wrong_check_digit"
        );
        assert_eq!(
            Identifier::parse(agency, &misprinted)
                .expect(&misprinted)
                .fault,
            Some(IdentifierFault::WrongCheckDigit)
        );
        // ANSI/HIBC 2.6 2.2: the link of a secondary label is the primary's check character.
        let secondary = format!("+$$3281231{LOT}{check}");
        let secondary = format!("{secondary}{}", mod43(&secondary));
        let primary = format!("+{code}{check}");
        let joined = join(
            read(&primary, &today()).expect(&primary),
            read(&secondary, &today()).expect(&secondary),
            &today(),
        );
        let joined = joined.unwrap_or_else(|e| panic!("{primary} {secondary}: {e:?}"));
        assert_eq!(joined.identifier, Some(parsed.identifier), "{primary}");
        assert!(says(&joined, "LE"), "{primary} {secondary}");
    }
    println!("{ends_in_check} of {all} HIBCC codes end in their check character");
}

#[test]
fn the_product_codes_of_the_isbt_128_examples_are_read_in_every_form() {
    // The database's sample has no ICCBBA identifier; these are the worked examples' own.
    for vector in reference::list("isbt128_udi.json", "vectors") {
        let label = text(&vector, "input");
        let Some((_, rest)) = label.split_once("=/").filter(|_| vector["valid"] == true) else {
            continue;
        };
        let parsed = Identifier::parse(Agency::Iccbba, &rest[..16]).expect(label);
        assert_eq!(parsed.fault, None, "{label}");
        is_read_in_every_form(parsed.identifier);
    }
}
