use super::*;
use serde_json::Value;
use std::path::PathBuf;

/// The shapes beside the project, or nothing with the reason printed.
fn shapes() -> Option<Vec<Value>> {
    let root = std::env::var_os("LOTWARDEN_REFERENCE").map_or_else(
        || {
            PathBuf::from(concat!(
                env!("CARGO_MANIFEST_DIR"),
                "/../../../shared/reference"
            ))
        },
        PathBuf::from,
    );
    let path = root.join("openfda/code_info_shapes.json");
    let Ok(text) = std::fs::read_to_string(&path) else {
        eprintln!("skipped: {} is not there", path.display());
        return None;
    };
    let file: Value = serde_json::from_str(&text).unwrap();
    Some(file["shapes"].as_array().unwrap().clone())
}

fn lots(reading: &Reading) -> Vec<(String, Option<String>)> {
    let of = |proposal: &Proposal| {
        let printed = proposal.expiry.as_ref().and_then(|f| f.value.printed);
        let pair = |f: &Found<String>| (f.value.clone(), printed.map(|p| p.to_string()));
        proposal.lots.iter().map(pair).collect::<Vec<_>>()
    };
    reading.proposals.iter().flat_map(of).collect()
}

// openFDA's own texts with the readings expected of them (reference/openfda, CC0).
#[test]
fn every_shape_of_the_reference_is_read_as_expected() {
    for shape in shapes().unwrap_or_default() {
        let text = shape["code_info"].as_str().unwrap();
        let expected = &shape["expected"];
        let reading = read(text, TODAY);
        let lots = lots(&reading);
        match &expected["lots"] {
            Value::Number(count) => assert_eq!(Some(lots.len() as u64), count.as_u64(), "{text}"),
            Value::Array(all) => {
                let names = all.iter().map(|lot| match lot {
                    Value::Array(pair) => (text_of(&pair[0]), Some(text_of(&pair[1]))),
                    lot => (text_of(lot), None),
                });
                assert_eq!(lots, names.collect::<Vec<_>>(), "{text}");
            }
            _ => assert!(lots.is_empty(), "{text}"),
        }
        if let Value::Array(catalog) = &expected["catalog"] {
            let numbers: Vec<_> = reading.proposals[0]
                .catalogue_numbers
                .iter()
                .map(|f| f.value.clone())
                .collect();
            assert_eq!(
                numbers,
                catalog.iter().map(text_of).collect::<Vec<_>>(),
                "{text}"
            );
        }
        if expected["ranges"] == true {
            assert_eq!(reading.proposals[0].ranges.len(), 1, "{text}");
            assert!(reading.proposals[0].expiry.is_some(), "{text}");
        }
    }
}

fn text_of(value: &Value) -> String {
    value.as_str().unwrap().to_owned()
}
