use std::collections::{BTreeMap, HashMap};

use lotwarden_ledger::{ProfileFault, canonical};
use proptest::prelude::*;
use serde_json::{Value, json};

/// The string of RFC 8785 section 3.2.2's example, and its published output in section 3.2.3/3.2.4.
#[test]
fn the_example_string_of_rfc_8785_is_written_as_published() {
    let input: Value =
        serde_json::from_str(r#""\u20ac$\u000F\u000aA'\u0042\u0022\u005c\\\"\/""#).unwrap();
    let published = r#""€$\u000f\nA'B\"\\\\\"/""#;
    assert_eq!(canonical::to_string(&input).unwrap(), published);
    // The same characters in hexadecimal, as section 3.2.4 prints them.
    let bytes = [
        0x22, 0xe2, 0x82, 0xac, 0x24, 0x5c, 0x75, 0x30, 0x30, 0x30, 0x66, 0x5c, 0x6e, 0x41, 0x27,
        0x42, 0x5c, 0x22, 0x5c, 0x5c, 0x5c, 0x5c, 0x5c, 0x22, 0x2f, 0x22,
    ];
    assert_eq!(canonical::to_string(&input).unwrap().as_bytes(), bytes);
}

/// RFC 8785 section 3.2.2.2: seven short escapes, the other controls as lower-case \u00xx, all else
/// as it is, U+007F and beyond included.
#[test]
fn every_ascii_character_is_escaped_as_rfc_8785_says() {
    for code in 0..=0x80_u8 {
        let character = char::from(code);
        let due = match code {
            0x08 => r"\b".to_owned(),
            0x09 => r"\t".to_owned(),
            0x0a => r"\n".to_owned(),
            0x0c => r"\f".to_owned(),
            0x0d => r"\r".to_owned(),
            b'"' => r#"\""#.to_owned(),
            b'\\' => r"\\".to_owned(),
            0..=0x1f => format!(r"\u{code:04x}"),
            _ => character.to_string(),
        };
        let written = canonical::to_string(&character.to_string()).unwrap();
        assert_eq!(written, format!("\"{due}\""));
    }
}

/// The keys of RFC 8785 section 3.2.3's sorting example are outside the profile; those inside it
/// sort by byte, which for them is UTF-16 order.
#[test]
fn keys_are_plain_and_sorted() {
    for key in [
        "\u{20ac}",
        "\r",
        "\u{fb33}",
        "\u{1f600}",
        "\u{80}",
        "\u{f6}",
        "A",
        "a b",
        "a-b",
        "",
    ] {
        let object = HashMap::from([(key, 1)]);
        assert!(matches!(
            canonical::to_string(&object),
            Err(ProfileFault::KeyForm { .. })
        ));
    }
    let check = |text: &str| canonical::check(text.as_bytes());
    assert!(check(r#"{"1":0,"_":0,"a":{"b":0},"a_b":0,"ab":[{"a":0}]}"#).is_ok());
    assert!(matches!(check(r#"{"b":1,"a":1}"#), Err(ProfileFault::KeyOrder { key }) if key == "a"));
    assert!(matches!(
        check(r#"{"ab":1,"a":1}"#),
        Err(ProfileFault::KeyOrder { .. })
    ));
    assert!(matches!(check(r#"{"a":1,"a":1}"#), Err(ProfileFault::KeyTwice { key }) if key == "a"));
}

#[test]
fn a_struct_with_fields_out_of_order_is_refused() {
    #[derive(serde::Serialize)]
    struct OutOfOrder {
        lot: u8,
        identifier: u8,
    }
    let value = OutOfOrder {
        lot: 1,
        identifier: 2,
    };
    let fault = canonical::to_string(&value);
    assert!(matches!(fault, Err(ProfileFault::KeyOrder { key }) if key == "identifier"));
}

#[test]
fn floats_nulls_and_large_integers_are_refused() {
    let write = |value: Value| canonical::to_string(&value);
    assert!(matches!(
        write(json!({"a": 1.0})),
        Err(ProfileFault::Float { at: 5 })
    ));
    assert!(matches!(
        write(json!({"a": 1e30})),
        Err(ProfileFault::Float { .. })
    ));
    assert!(matches!(
        write(json!({"a": [null]})),
        Err(ProfileFault::Null { at: 6 })
    ));
    assert!(matches!(
        canonical::to_string(&f64::NAN),
        Err(ProfileFault::Null { .. })
    ));
    let most = 9_007_199_254_740_991_i64;
    assert_eq!(
        write(json!([most, -most, 0])).unwrap(),
        "[9007199254740991,-9007199254740991,0]"
    );
    // RFC 8785 would write both of these as 9007199254740992.
    assert!(matches!(
        write(json!(most + 1)),
        Err(ProfileFault::Integer { .. })
    ));
    assert!(matches!(
        write(json!(most + 2)),
        Err(ProfileFault::Integer { .. })
    ));
    assert!(matches!(
        write(json!(-most - 1)),
        Err(ProfileFault::Integer { .. })
    ));
    assert!(matches!(
        write(json!(u64::MAX)),
        Err(ProfileFault::Integer { .. })
    ));
}

#[test]
fn other_spellings_of_the_same_content_are_refused() {
    for text in [
        "",
        " {}",
        "{} ",
        "{ }",
        r#"{"a": 1}"#,
        r#"{"a":1,}"#,
        "[1,]",
        "[1 ,2]",
        "01",
        "-0",
        "-",
        "+1",
        r#""\/""#,
        r#""\u0041""#,
        r#""\u000A""#,
        r#""\u000a""#,
        r#""\u001F""#,
        r#""\u0008""#,
        r#""\u20ac""#,
        r#""\ud83d\ude00""#,
        "\"\n\"",
        "\"\u{1}\"",
        r#""a"#,
        r#""\"#,
        r#""\u00"#,
        "tru",
        "True",
        "{",
        "[",
        r#"{"a"}"#,
        r#"{"a":}"#,
        "{]",
        "[}",
        "[[]",
        "1 2",
        "1.5",
        "1e2",
        "nul",
    ] {
        assert!(canonical::check(text.as_bytes()).is_err(), "{text:?}");
    }
    assert!(canonical::check(b"\"\xff\"").is_err());
    assert!(
        canonical::check(b"\"\xed\xa0\x80\"").is_err(),
        "a lone surrogate"
    );
}

#[test]
fn nesting_has_a_bound() {
    let nested = |levels| "[".repeat(levels) + &"]".repeat(levels);
    assert!(canonical::check(nested(32).as_bytes()).is_ok());
    assert!(matches!(
        canonical::check(nested(33).as_bytes()),
        Err(ProfileFault::Deep { .. })
    ));
    assert!(canonical::check(nested(1_000_000).as_bytes()).is_err());
}

fn within_the_profile() -> impl Strategy<Value = Value> {
    let limit = 9_007_199_254_740_991_i64;
    let leaf = prop_oneof![
        any::<bool>().prop_map(Value::from),
        (-limit..=limit).prop_map(Value::from),
        any::<String>().prop_map(Value::from),
        "[\u{0}-\u{80}\"\\\\]{0,40}".prop_map(Value::from),
    ];
    leaf.prop_recursive(4, 48, 6, |inner| {
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..6).prop_map(Value::from),
            prop::collection::btree_map("[a-z0-9_]{1,8}", inner, 0..6)
                .prop_map(|map: BTreeMap<String, Value>| map.into_iter().collect()),
        ]
    })
}

proptest! {
    /// json-canon and serde_json_canonicalizer are the oracles.
    #[test]
    fn what_is_written_is_what_two_rfc_8785_writers_write(value in within_the_profile()) {
        let written = canonical::to_string(&value).unwrap();
        prop_assert_eq!(&written, &json_canon::to_string(&value).unwrap());
        prop_assert_eq!(&written, &serde_json_canonicalizer::to_string(&value).unwrap());
        prop_assert!(canonical::check(written.as_bytes()).is_ok());
    }

    /// Whatever is done to a text: if the check takes it, the oracle writes the same bytes.
    #[test]
    fn what_the_check_takes_is_canonical(
        value in within_the_profile(),
        place in any::<prop::sample::Index>(),
        byte in prop_oneof![any::<u8>(), Just(b'"'), Just(b'\\'), Just(b'0'), Just(b','), Just(b'}'), Just(b' ')],
        insert in any::<bool>(),
    ) {
        let mut text = canonical::to_string(&value).unwrap().into_bytes();
        let place = place.index(text.len());
        if insert { text.insert(place, byte) } else { text[place] = byte }
        if canonical::check(&text).is_ok() {
            let read: Value = serde_json::from_slice(&text).unwrap();
            prop_assert_eq!(json_canon::to_string(&read).unwrap().into_bytes(), text);
        }
    }
}
