use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use lotwarden_ledger::{Disclosure, commitment::digest};
use proptest::prelude::*;
use serde_json::Value;

/// Worked examples of RFC 9901 (sections 4.2.3 and 5), from memory. The RFC writes a space after
/// each comma of the array; any spelling is allowed there, and this crate writes none.
#[test]
fn digests_of_rfc_9901s_examples_are_the_published_ones() {
    let family = "WyJfMjZiYzRMVC1hYzZxMktJNmNCVzVlcyIsICJmYW1pbHlfbmFtZSIsICJNw7ZiaXVzIl0";
    assert_eq!(
        digest(family),
        "X9yH0Ajrdm1Oij4tWso9UzzKJvPoDxwmuEcO3XAdRC0"
    );
    assert_eq!(
        digest(GIVEN_NAME),
        "jsu9yVulwQQlhFlM_3JlzMaSFzglhQG0DpfayQwLUK4"
    );
}

const GIVEN_NAME: &str = "WyIyR0xDNDJzS1F2ZUNmR2ZyeU5STjl3IiwgImdpdmVuX25hbWUiLCAiSm9obiJd";

fn given_name() -> Disclosure {
    let salt = URL_SAFE_NO_PAD.decode("2GLC42sKQveCfGfryNRN9w").unwrap();
    Disclosure::new("given_name", "John", salt.try_into().unwrap())
}

#[test]
fn the_array_is_that_of_rfc_9901s_example() {
    let array = |encoded: &str| -> Value {
        serde_json::from_slice(&URL_SAFE_NO_PAD.decode(encoded).unwrap()).unwrap()
    };
    assert_eq!(array(&given_name().encoded()), array(GIVEN_NAME));
    assert_eq!(given_name().digest(), digest(&given_name().encoded()));
}

#[test]
fn debug_output_shows_neither_salt_nor_value() {
    let shown = format!("{:?}", given_name());
    assert!(shown.contains("given_name"));
    assert!(!shown.contains("John") && !shown.contains("216"), "{shown}");
}

proptest! {
    #[test]
    fn another_salt_name_or_value_has_another_digest(value in any::<String>(), salt in any::<[u8; 16]>()) {
        let mut other_salt = salt;
        other_salt[15] ^= 1;
        let digest = Disclosure::new("name", value.clone(), salt).digest();
        prop_assert_eq!(digest.len(), 43);
        prop_assert_ne!(&digest, &Disclosure::new("name", value.clone(), other_salt).digest());
        prop_assert_ne!(&digest, &Disclosure::new("nam", value.clone(), salt).digest());
        prop_assert_ne!(&digest, &Disclosure::new("name", value + " ", salt).digest());
    }
}
