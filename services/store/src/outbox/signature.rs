//! Signatures as Standard Webhooks has them.

use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use hmac::{Hmac, KeyInit, Mac};
use sha2::Sha256;

/// The `webhook-signature` of a message: version 1, HMAC-SHA-256 over `id.timestamp.body`. HMAC
/// takes keys of every length.
#[must_use]
pub fn sign(secret: &[u8], id: &str, seconds: i64, body: &str) -> Option<String> {
    let mut mac = <Hmac<Sha256> as KeyInit>::new_from_slice(secret).ok()?;
    mac.update(format!("{id}.{seconds}.{body}").as_bytes());
    Some(format!(
        "v1,{}",
        STANDARD.encode(mac.finalize().into_bytes())
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    // The test vector published with Standard Webhooks' reference libraries:
    // whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw.
    #[test]
    fn a_signature_is_that_of_the_published_test_vector() {
        let secret = STANDARD
            .decode("MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw")
            .expect("base64");
        let signature = sign(
            &secret,
            "msg_p5jXN8AQM9LWM0D4loKWxJek",
            1_614_265_330,
            "{\"test\": 2432232314}",
        );
        let expected = "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE=";
        assert_eq!(signature.as_deref(), Some(expected));
    }
}
