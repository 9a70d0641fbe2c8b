use lotwarden_ledger::{GENESIS_TEXT, Hash, entry_hash, genesis};

/// FIPS 180-4's example for SHA-256, "abc" (NIST, Examples with Intermediate Values).
#[test]
fn sha256_of_abc_is_the_published_value() {
    let published = "ba7816bf8f01cfea414140de5dae2223b00361a396177a9cb410ff61f20015ad";
    assert_eq!(Hash::of(b"abc").to_string(), published);
    assert_eq!(published.parse::<Hash>().unwrap(), Hash::of(b"abc"));
    assert_eq!(
        serde_json::to_string(&Hash::of(b"abc")).unwrap(),
        format!("\"{published}\"")
    );
}

/// The leaf hash of the empty input in the published RFC 6962 test data.
#[test]
fn an_entry_hash_is_an_rfc_9162_leaf() {
    assert_eq!(
        entry_hash(b"").to_string(),
        "6e340b9cffb37a989ca544e6bb780a2c78901d3fb33738768511a30617afa01d"
    );
}

/// The value that every verifier must hold; computed with sha256sum.
#[test]
fn the_genesis_never_changes() {
    assert_eq!(GENESIS_TEXT, "lotwarden ledger format 1 genesis");
    assert_eq!(
        genesis().to_string(),
        "fa1c358015c138de3ba59530cd51bb3854800dd0842b29f00f098774095c4480"
    );
}

#[test]
fn a_hash_has_one_text() {
    let text = Hash::of(b"abc").to_string();
    for other in [
        text.to_uppercase(),
        text[1..].to_owned(),
        format!("{text}0"),
        text.replace('b', "g"),
        String::new(),
    ] {
        assert!(other.parse::<Hash>().is_err(), "{other}");
    }
    assert_eq!(Hash::from_slice(&[1; 31]), None);
    assert_eq!(Hash::from_slice(&[1; 32]), Some(Hash::from_bytes([1; 32])));
}
