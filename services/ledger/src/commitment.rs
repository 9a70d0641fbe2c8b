//! Salted commitments: how an entry can bind a personal value without holding it.
//!
//! The form is that of an SD-JWT disclosure (RFC 9901 section 4.2.1): the entry carries the digest
//! under `data.commitments.<name>`; salt and value are kept apart and can be deleted, which changes
//! no entry. The salt is fresh for each value, 128 random bits: without it a record number falls
//! out of its hash in seconds.
use std::fmt;

use base64::{Engine, engine::general_purpose::URL_SAFE_NO_PAD};
use serde::{Deserialize, Serialize};

use crate::{canonical::write_string, hash::Hash};

/// A personal value with its salt. `Debug` shows neither.
#[derive(Clone, PartialEq, Eq)]
pub struct Disclosure {
    /// 128 random bits, never used twice.
    pub salt: [u8; 16],
    /// What the value is, as `a-z`, `0-9` and `_`; it stands in the entry in clear.
    pub name: String,
    /// The value.
    pub value: String,
}

impl fmt::Debug for Disclosure {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Disclosure")
            .field("name", &self.name)
            .finish_non_exhaustive()
    }
}

impl Disclosure {
    /// Takes a value and the fresh salt that its maker drew.
    pub fn new(name: impl Into<String>, value: impl Into<String>, salt: [u8; 16]) -> Self {
        Self {
            salt,
            name: name.into(),
            value: value.into(),
        }
    }

    /// Gives the base64url, without padding, of the JSON array `[salt, name, value]` written
    /// without white space, the salt in base64url.
    pub fn encoded(&self) -> String {
        let mut array = Vec::with_capacity(64 + self.value.len());
        array.push(b'[');
        write_string(&mut array, &URL_SAFE_NO_PAD.encode(self.salt));
        array.push(b',');
        write_string(&mut array, &self.name);
        array.push(b',');
        write_string(&mut array, &self.value);
        array.push(b']');
        URL_SAFE_NO_PAD.encode(array)
    }

    /// Gives the digest that stands in the entry: base64url of the SHA-256 over the characters of
    /// [`encoded`](Self::encoded) (RFC 9901 section 4.2.3).
    pub fn digest(&self) -> String {
        digest(&self.encoded())
    }
}

/// Computes the digest of a disclosure in its encoded form (RFC 9901 section 4.2.3).
pub fn digest(encoded: &str) -> String {
    URL_SAFE_NO_PAD.encode(Hash::of(encoded.as_bytes()).as_bytes())
}

/// A disclosure with the position of the entry that binds it: one line of a parcel.
#[derive(Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub(crate) struct DisclosureLine {
    name: String,
    pub(crate) position: u64,
    salt: String,
    value: String,
}

impl DisclosureLine {
    pub(crate) fn new(position: u64, disclosure: &Disclosure) -> Self {
        Self {
            name: disclosure.name.clone(),
            position,
            salt: URL_SAFE_NO_PAD.encode(disclosure.salt),
            value: disclosure.value.clone(),
        }
    }

    /// Gives the disclosure, unless the salt is not 128 bits in base64url.
    pub(crate) fn disclosure(self) -> Option<Disclosure> {
        let salt = URL_SAFE_NO_PAD.decode(self.salt).ok()?;
        Some(Disclosure::new(
            self.name,
            self.value,
            salt.try_into().ok()?,
        ))
    }
}

/// Reads a digest's text; anything but 32 bytes in base64url is `None`.
pub(crate) fn read_digest(text: &str) -> Option<Hash> {
    Hash::from_slice(&URL_SAFE_NO_PAD.decode(text).ok()?)
}
