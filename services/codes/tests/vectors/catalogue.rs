//! Identifiers as catalogues hold them: 30,000 device records of the FDA's public device
//! database (CC0).

use std::io::{BufRead, BufReader};
use std::path::PathBuf;

use lotwarden_codes::{Agency, CheckDigits, Identifier, IdentifierFault, read};
use serde_json::Value;

use crate::joining::mod43;
use crate::today;

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
            if let Ok(agency) = identifier[2].as_str().unwrap_or_default().parse() {
                found.push((agency, code.to_owned()));
            }
        }
    }
    found
}

#[test]
fn every_device_identifier_is_read_in_every_form_and_wrong_check_digits_are_reported() {
    let (mut wrong, mut strange) = (0, Vec::new());
    for (agency, code) in identifiers() {
        let parsed = match Identifier::parse(agency, &code) {
            Ok(parsed) => parsed,
            Err(fault) => {
                strange.push(format!("{agency} {code}: {fault}"));
                continue;
            }
        };
        wrong += usize::from(parsed.fault == Some(IdentifierFault::WrongCheckDigit));
        let mut context = today();
        if parsed.fault.is_some() {
            context.check_digits = CheckDigits::Tolerate;
        }
        let normal = parsed.identifier.code.as_str();
        let forms = match agency {
            Agency::Gs1 => vec![
                format!("]d201{normal}"),
                format!("(01){normal}"),
                format!("^01{normal}10LOT1"),
                format!("https://id.gs1.org/01/{normal}"),
                code.clone(),
            ],
            Agency::Hibcc => {
                let label = format!("+{normal}");
                vec![
                    format!("{label}{}", mod43(&label)),
                    format!("*{label}{}*", mod43(&label)),
                ]
            }
            Agency::Iccbba => vec![format!("=/{normal}")],
            _ => vec![],
        };
        for form in forms {
            let reading = read(&form, &context).unwrap_or_else(|e| panic!("{form}: {e:?}"));
            assert_eq!(reading.identifier, Some(parsed.identifier), "{form}");
        }
    }
    eprintln!(
        "{wrong} identifiers with a wrong check digit; not of their agency's form: {strange:#?}"
    );
    assert!(strange.len() <= 5, "{strange:#?}");
}

#[test]
fn lengths_of_a_gtin_are_one_identifier() {
    let parse = |code: &str| Identifier::parse(Agency::Gs1, code).expect(code);
    assert_eq!(
        parse("416000336108").identifier,
        parse("00416000336108").identifier
    );
    assert_eq!(
        parse("0416000336108").identifier,
        parse("00416000336108").identifier
    );
    assert_eq!(parse("02345673").identifier.code.as_str(), "00000002345673");
    // One of the ten with a wrong check digit in the public database.
    assert_eq!(
        parse("00841518100003").fault,
        Some(IdentifierFault::WrongCheckDigit)
    );
}

#[test]
fn an_hibcc_code_is_one_with_and_without_its_check_character() {
    let parse = |code: &str| Identifier::parse(Agency::Hibcc, code).expect(code);
    let bare = parse("A123BJC5D6E71").identifier;
    for written in ["A123BJC5D6E71G", "+A123BJC5D6E71G", "*+A123BJC5D6E71G*"] {
        assert_eq!(
            (parse(written).identifier, parse(written).fault),
            (bare, None),
            "{written}"
        );
    }
    assert_eq!(
        parse("+A123BJC5D6E71H").fault,
        Some(IdentifierFault::WrongCheckDigit)
    );
}

#[test]
fn a_code_whose_last_digit_may_be_its_check_character_keeps_both_readings() {
    // Found by search: a code whose check character is a digit, so that code and check
    // character together look like a code as well.
    let label = (0..100_000)
        .map(|n| format!("+A999{n}"))
        .find(|l| l.len() > 7 && mod43(l).is_ascii_digit());
    let label = label.expect("one in four");
    let code = format!("{}{}", &label[1..], mod43(&label));
    let parsed = Identifier::parse(Agency::Hibcc, &code).expect("code");
    assert_eq!(parsed.identifier.code.as_str(), &label[1..]);
    assert_eq!(parsed.also.expect("both").code.as_str(), code);
}
