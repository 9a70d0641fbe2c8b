//! National Drug Codes: FDA examples and package codes (US government open data).

use lotwarden_codes::{Form, Ndc, Warning, read};

use crate::{reference, text, today};

#[test]
fn every_written_form_names_the_same_product() {
    for vector in reference::list("ndc.json", "vectors") {
        let hyphened = Ndc::parse(text(&vector, "ndc")).expect("NDC");
        let identifier = hyphened.identifier().expect("decided");
        assert_eq!(identifier.code.as_str(), text(&vector, "ndc12"));
        assert_eq!(
            hyphened.gtin().expect("ten digits").code.as_str(),
            text(&vector, "gtin14")
        );
        for form in ["ndc11", "ndc11_hyphen", "ndc12", "ndc12_hyphen"] {
            let same = Ndc::parse(text(&vector, form)).expect(form);
            assert_eq!(
                same.identifier(),
                Some(identifier),
                "{form} of {}",
                vector["ndc"]
            );
        }
        for form in ["ndc10", "upc_a", "gtin14"] {
            let reading =
                read(text(&vector, form), &today()).unwrap_or_else(|e| panic!("{form}: {e:?}"));
            let ndc = reading.ndc.expect("holds an NDC");
            let printed: Vec<_> = ndc.candidates().map(ToString::to_string).collect();
            assert!(
                printed.iter().any(|p| p == text(&vector, "ndc")),
                "{printed:?}"
            );
        }
        let upc_a = read(text(&vector, "upc_a"), &today()).expect("UPC-A");
        assert_eq!(
            upc_a.identifier.expect("GTIN").code.as_str(),
            text(&vector, "gtin14")
        );
        for form in ["ndc", "ndc11_hyphen", "ndc12_hyphen"] {
            let reading = read(text(&vector, form), &today()).expect(form);
            assert_eq!(
                (reading.form, reading.identifier),
                (Form::Ndc, Some(identifier))
            );
        }
    }
}

#[test]
fn bare_digits_give_every_candidate_and_say_when_they_cannot_be_decided() {
    for vector in reference::list("ndc.json", "normalise") {
        let input = text(&vector, "input");
        let result = read(input, &today());
        if vector["valid"] == false {
            assert!(result.is_err(), "{input}");
            continue;
        }
        let reading = result.unwrap_or_else(|e| panic!("{input}: {e:?}"));
        let found: Vec<_> = reading
            .ndc
            .iter()
            .flat_map(Ndc::candidates)
            .map(ToString::to_string)
            .collect();
        let expected = vector["candidates"].as_array().expect("list");
        let plain = expected
            .iter()
            .filter_map(|c| c.as_str())
            .filter(|c| !c.contains("invalid"));
        for candidate in plain {
            assert!(
                found.iter().any(|f| f == candidate),
                "{input}: {candidate} not in {found:?}"
            );
        }
        assert_eq!(expected.is_empty(), found.is_empty(), "{input}");
    }
}

#[test]
fn ten_digits_that_begin_with_another_digit_than_zero_are_undecidable() {
    let reading = read("6868206510", &today()).expect("readable");
    assert_eq!(reading.identifier, None);
    assert!(reading.warnings.contains(Warning::NdcAmbiguous));
    // The ten digits are known, so the GTIN is (21 CFR 201.25: UPC-A 368682065107).
    assert_eq!(
        reading
            .ndc
            .and_then(|n| n.gtin())
            .expect("GTIN")
            .code
            .as_str(),
        "00368682065107"
    );
}

#[test]
fn a_package_is_looked_up_under_its_gtin_and_its_ndc_and_a_case_under_its_own_gtin() {
    let all = |text: &str| {
        let reading = read(text, &today()).expect(text);
        reading
            .identifiers()
            .map(|i| format!("{} {}", i.agency, i.code))
            .collect::<Vec<_>>()
    };
    let package = ["gs1 00300676382302", "ndc 000067638230"];
    assert_eq!(all("]E00300676382302"), package);
    assert_eq!(all("0067-6382-30"), [package[1], package[0]]);
    assert_eq!(all("10300676382309"), ["gs1 10300676382309"]);
    assert_eq!(all("6868206510"), ["gs1 00368682065107"]);
}
