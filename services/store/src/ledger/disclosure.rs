//! What stands behind a commitment, opened.

use crate::database::StoreError;
use crate::sealing::{DISCLOSURE, Key};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use lotwarden_ledger::Disclosure;

/// Opens a sealed disclosure with its patient's key: base64url of `[salt,name,value]` (RFC 9901,
/// 4.2.1).
pub(crate) fn open_disclosure(key: &Key, sealed: &[u8]) -> Result<Disclosure, StoreError> {
    let encoded = key.open(DISCLOSURE, sealed)?;
    read(&encoded).ok_or(StoreError::Unfit)
}

fn read(encoded: &[u8]) -> Option<Disclosure> {
    let array = URL_SAFE_NO_PAD.decode(encoded).ok()?;
    let (salt, name, value): (String, String, String) = serde_json::from_slice(&array).ok()?;
    let salt = URL_SAFE_NO_PAD.decode(salt).ok()?.try_into().ok()?;
    Some(Disclosure::new(name, value, salt))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_the_ledger_encodes_is_read_back() {
        let made = Disclosure::new("record_number", "M\u{f6}-\"1\"", [7; 16]);
        assert_eq!(read(made.encoded().as_bytes()), Some(made));
    }

    #[test]
    fn a_salt_of_another_length_is_refused() {
        let array = URL_SAFE_NO_PAD.encode(r#"["AAAA","name","value"]"#);
        assert_eq!(read(array.as_bytes()), None);
    }
}
