//! SHA-256 values: an entry's hash, the genesis, and their text form.
use std::{fmt, str::FromStr};

use serde::{Deserialize, Deserializer, Serialize, Serializer, de};
use sha2::{Digest, Sha256};

/// The published text whose SHA-256 stands as `previous` in the first entry of every ledger.
pub const GENESIS_TEXT: &str = "lotwarden ledger format 1 genesis";

/// A SHA-256 value (FIPS 180-4), written everywhere as 64 lower-case hexadecimal digits.
#[derive(Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Hash([u8; 32]);

impl Hash {
    /// Takes the 32 bytes of a SHA-256 value.
    pub const fn from_bytes(bytes: [u8; 32]) -> Self {
        Self(bytes)
    }

    /// Takes 32 bytes from a slice; any other length is `None`.
    pub fn from_slice(bytes: &[u8]) -> Option<Self> {
        bytes.try_into().ok().map(Self)
    }

    /// Gives the 32 bytes.
    pub const fn as_bytes(&self) -> &[u8; 32] {
        &self.0
    }

    /// Computes the plain SHA-256 of `bytes`, as `sha256sum` does.
    pub fn of(bytes: &[u8]) -> Self {
        Self(Sha256::digest(bytes).into())
    }

    /// Gives the 64 lower-case hexadecimal digits.
    pub fn hex(&self) -> [u8; 64] {
        const DIGITS: &[u8; 16] = b"0123456789abcdef";
        let mut text = [0; 64];
        for (pair, byte) in text.chunks_exact_mut(2).zip(self.0) {
            pair[0] = DIGITS[usize::from(byte >> 4)];
            pair[1] = DIGITS[usize::from(byte & 15)];
        }
        text
    }

    /// Reads 64 lower-case hexadecimal digits; upper case is refused, so that a value has one text.
    pub fn from_hex(text: &[u8]) -> Option<Self> {
        let text: &[u8; 64] = text.try_into().ok()?;
        let mut bytes = [0; 32];
        for (byte, pair) in bytes.iter_mut().zip(text.chunks_exact(2)) {
            *byte = nibble(pair[0])? << 4 | nibble(pair[1])?;
        }
        Some(Self(bytes))
    }
}

fn nibble(digit: u8) -> Option<u8> {
    match digit {
        b'0'..=b'9' => Some(digit - b'0'),
        b'a'..=b'f' => Some(digit - b'a' + 10),
        _ => None,
    }
}

/// The text is not 64 lower-case hexadecimal digits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("a hash is 64 lower-case hexadecimal digits")]
pub struct HashTextFault;

impl fmt::Display for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.hex()
            .iter()
            .try_for_each(|digit| fmt::Write::write_char(f, char::from(*digit)))
    }
}

impl fmt::Debug for Hash {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(self, f)
    }
}

impl FromStr for Hash {
    type Err = HashTextFault;

    fn from_str(text: &str) -> Result<Self, HashTextFault> {
        Self::from_hex(text.as_bytes()).ok_or(HashTextFault)
    }
}

impl Serialize for Hash {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for Hash {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        String::deserialize(deserializer)?
            .parse()
            .map_err(de::Error::custom)
    }
}

/// Gives what stands as `previous` in the entry at position 0: the SHA-256 of [`GENESIS_TEXT`].
pub fn genesis() -> Hash {
    Hash::of(GENESIS_TEXT.as_bytes())
}

/// Computes an entry's hash, SHA-256(0x00 || body): the chain's link and the Merkle leaf of
/// RFC 9162 section 2.1.1 in one.
pub fn entry_hash(body: &[u8]) -> Hash {
    Hash(
        Sha256::new()
            .chain_update([0])
            .chain_update(body)
            .finalize()
            .into(),
    )
}
