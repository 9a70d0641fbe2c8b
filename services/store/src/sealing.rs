//! Sealing at rest: the master key outside the database, a key per facility, a key per patient.

use aes_gcm::aead::{Aead, KeyInit, Payload};
use aes_gcm::{Aes256Gcm, Nonce};
use hmac::{Hmac, Mac};
use rand::Rng;
use sha2::Sha256;
use std::fmt;
use zeroize::Zeroizing;

/// Sealed bytes do not open: another key, or bytes that were changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("sealed data does not open with this key")]
pub struct SealError;

/// A 256-bit key for AES-256-GCM (NIST SP 800-38D); zeroed when dropped.
#[derive(Clone)]
pub struct Key(Zeroizing<[u8; 32]>);

impl fmt::Debug for Key {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Key(..)")
    }
}

const NONCE: usize = 12;

impl Key {
    /// Takes 32 bytes as a key.
    #[must_use]
    pub fn new(bytes: [u8; 32]) -> Self {
        Self(Zeroizing::new(bytes))
    }

    /// Makes a key from the operating system's random source.
    #[must_use]
    pub fn random() -> Self {
        Self::new(random_bytes())
    }

    /// Seals bytes for one purpose; `purpose` is authenticated, so sealed bytes open in their own
    /// place only. Output: nonce (12 bytes), ciphertext, tag (16 bytes).
    ///
    /// # Errors
    /// [`SealError`] when the plaintext is longer than AES-GCM takes (64 GiB).
    pub fn seal(&self, purpose: &[u8], plain: &[u8]) -> Result<Vec<u8>, SealError> {
        let nonce: [u8; NONCE] = random_bytes();
        let payload = Payload {
            msg: plain,
            aad: purpose,
        };
        let sealed = self
            .cipher()?
            .encrypt(&Nonce::from(nonce), payload)
            .map_err(|_| SealError)?;
        Ok([nonce.as_slice(), &sealed].concat())
    }

    /// Opens what [`Self::seal`] made for the same purpose.
    ///
    /// # Errors
    /// [`SealError`].
    pub fn open(&self, purpose: &[u8], sealed: &[u8]) -> Result<Zeroizing<Vec<u8>>, SealError> {
        let (nonce, sealed) = sealed.split_first_chunk::<NONCE>().ok_or(SealError)?;
        let payload = Payload {
            msg: sealed,
            aad: purpose,
        };
        let plain = self.cipher()?.decrypt(&Nonce::from(*nonce), payload);
        plain.map(Zeroizing::new).map_err(|_| SealError)
    }

    /// Makes a key and seals it under this one.
    ///
    /// # Errors
    /// [`SealError`], as [`Self::seal`].
    pub fn wrap_new(&self, purpose: &[u8]) -> Result<(Self, Vec<u8>), SealError> {
        let key = Self::random();
        let wrapped = self.seal(purpose, key.0.as_slice())?;
        Ok((key, wrapped))
    }

    /// Opens a key that [`Self::wrap_new`] sealed.
    ///
    /// # Errors
    /// [`SealError`].
    pub fn unwrap(&self, purpose: &[u8], wrapped: &[u8]) -> Result<Self, SealError> {
        let plain = self.open(purpose, wrapped)?;
        let bytes: [u8; 32] = plain.as_slice().try_into().map_err(|_| SealError)?;
        Ok(Self::new(bytes))
    }

    /// HMAC-SHA-256 of the bytes (RFC 2104), to find a value without storing it in clear.
    ///
    /// # Errors
    /// Never in practice: HMAC takes keys of every length.
    pub fn lookup(&self, bytes: &[u8]) -> Result<[u8; 32], SealError> {
        let mac = <Hmac<Sha256> as hmac::KeyInit>::new_from_slice(self.0.as_slice());
        let mut mac = mac.map_err(|_| SealError)?;
        mac.update(b"lotwarden lookup\0");
        mac.update(bytes);
        Ok(mac.finalize().into_bytes().into())
    }

    fn cipher(&self) -> Result<Aes256Gcm, SealError> {
        Aes256Gcm::new_from_slice(self.0.as_slice()).map_err(|_| SealError)
    }
}

/// Bytes from the operating system's random source, by way of a generator seeded from it.
#[must_use]
pub fn random_bytes<const N: usize>() -> [u8; N] {
    let mut bytes = [0; N];
    rand::rng().fill_bytes(&mut bytes);
    bytes
}

/// What a facility key is sealed for.
pub(crate) const FACILITY_KEY: &[u8] = b"facility key";
/// What a patient's key is sealed for.
pub(crate) const PATIENT_KEY: &[u8] = b"patient key";
/// What a patient's identity is sealed for.
pub(crate) const IDENTITY: &[u8] = b"patient identity";
/// What a patient's weight is sealed for.
pub(crate) const WEIGHT: &[u8] = b"patient weight";
/// What a webhook's secret is sealed for.
pub(crate) const WEBHOOK_SECRET: &[u8] = b"webhook secret";
/// What an entry's disclosure is sealed for.
pub(crate) const DISCLOSURE: &[u8] = b"disclosure";
