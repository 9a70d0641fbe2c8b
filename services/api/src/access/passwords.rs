//! Passwords: argon2id with the parameters of the OWASP Password Storage Cheat Sheet
//! (m = 19456 KiB, t = 2, p = 1), rules of NIST SP 800-63B-4, 3.1.1.2.

mod blocklist;

pub use blocklist::Account;

use crate::problem::{ApiError, catalogue};
use argon2::password_hash::phc::PasswordHash;
use argon2::{Argon2, PasswordHasher, PasswordVerifier};
use unicode_normalization::UnicodeNormalization;
use zeroize::Zeroizing;

/// The least characters of a password that is the only factor.
pub const LEAST: usize = 15;
/// The most characters taken; the whole password is verified.
pub const MOST: usize = 256;

/// Hashes a password; takes tens of milliseconds of one core, so not on a request's own thread.
///
/// # Errors
/// 500 when the hasher fails.
pub fn hash(password: &str) -> Result<String, ApiError> {
    let hash = Argon2::default().hash_password(normal(password).as_bytes());
    hash.map(|hash| hash.to_string())
        .map_err(|_| ApiError::new(&catalogue::INTERNAL))
}

/// Whether the password is the one that was hashed.
#[must_use]
pub fn verify(password: &str, hash: &str) -> bool {
    PasswordHash::new(hash).is_ok_and(|hash| {
        Argon2::default()
            .verify_password(normal(password).as_bytes(), &hash)
            .is_ok()
    })
}

/// Verifies away from the request's thread. Without a hash the same work is done on a hash that
/// nothing fits, so that the time does not tell whether the account exists (ASVS 6.3.8).
pub async fn verify_apart(password: Zeroizing<String>, hash: Option<String>) -> bool {
    let work = move || {
        let known = hash.is_some();
        let hash = hash.unwrap_or_else(|| NOBODY.to_owned());
        verify(&password, &hash) && known
    };
    actix_web::web::block(work).await.unwrap_or(false)
}

/// A hash of random bytes that were thrown away.
const NOBODY: &str = "$argon2id$v=19$m=19456,t=2,p=1$3q2+796tvu/erb7v3q2+7w$gBZV0F0V0C2mBSWvOeJvJ3lZ0yF0p1Yw7m5o1bq3v0k";

/// What is wrong with a new password's length, counted in code points; nothing else is asked of its
/// characters.
#[must_use]
pub fn length_fault(password: &str) -> Option<&'static str> {
    match normal(password).chars().count() {
        ..LEAST => {
            Some("must be 15 characters or more; several words with spaces are easy to remember")
        }
        LEAST..=MOST => None,
        _ => Some("must be 256 characters or fewer"),
    }
}

/// What is wrong with a new password of an account; none when it can be used.
#[must_use]
pub fn fault(password: &str, account: &Account<'_>) -> Option<String> {
    let length = length_fault(password).map(str::to_owned);
    length.or_else(|| blocklist::fault(&normal(password), account))
}

/// The password in Unicode normalisation form C, so that it is the same from every keyboard.
fn normal(password: &str) -> Zeroizing<String> {
    Zeroizing::new(password.nfc().collect())
}

/// A random password of 25 letters and digits without look-alikes, in groups of five: 125 bits.
#[must_use]
pub fn random() -> String {
    const LETTERS: &[u8; 32] = b"abcdefghijkmnpqrstuvwxyz23456789";
    let bytes = lotwarden_store::sealing::random_bytes::<25>();
    let letter = |byte: &u8| char::from(LETTERS[usize::from(byte % 32)]);
    let groups = bytes
        .chunks(5)
        .map(|group| group.iter().map(letter).collect::<String>());
    groups.collect::<Vec<_>>().join("-")
}

#[cfg(test)]
mod tests {
    use super::*;

    /// ASVS 5.0, 6.3.8: an unknown login must take as long as a known one, so the decoy has to be a
    /// hash that is really computed, with the parameters of the OWASP Password Storage Cheat Sheet.
    #[test]
    fn the_decoy_is_a_hash_of_the_same_cost() {
        let decoy = PasswordHash::new(NOBODY).unwrap();
        let real = hash("three quiet otters 41").unwrap();
        let real = PasswordHash::new(&real).unwrap();
        assert_eq!(decoy.algorithm, real.algorithm);
        assert_eq!(decoy.params, real.params);
        let length = |hash: &PasswordHash| hash.hash.as_ref().map(|output| output.as_bytes().len());
        assert_eq!(length(&decoy), length(&real));
    }

    /// NIST SP 800-63B-4, 3.1.1.2: Unicode is normalised before hashing, so that a password typed
    /// as one code point on one keyboard and as letter and accent on another is the same.
    #[test]
    fn a_password_is_the_same_from_every_keyboard() {
        let kept = hash("cr\u{e8}me br\u{fb}l\u{e9}e at noon").unwrap();
        assert!(verify("cre\u{300}me bru\u{302}le\u{301}e at noon", &kept));
        assert!(!verify("creme brulee at noon", &kept));
    }

    /// NIST SP 800-63B-4, 3.1.1.2: 15 characters, one code point each; at least 64 are taken.
    #[test]
    fn length_is_counted_in_code_points_and_is_all_that_is_asked_of_characters() {
        assert!(length_fault(&"\u{1f9a6}".repeat(14)).is_some());
        assert!(length_fault(&"\u{1f9a6}".repeat(15)).is_none());
        assert!(length_fault(&"e\u{301}".repeat(14)).is_some());
        assert!(length_fault(&"a b ".repeat(64)).is_none());
        assert!(length_fault(&"a".repeat(257)).is_some());
    }
}
