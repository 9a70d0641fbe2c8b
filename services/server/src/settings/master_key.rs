//! The key that wraps every facility key, kept outside the database.

use std::fmt;
use std::path::Path;

use super::secret_file::{SecretFileError, read_or_make};

/// 32 random bytes; `Debug` shows none of them.
pub struct MasterKey([u8; 32]);

impl MasterKey {
    /// Reads the key, or makes it at the first start (mode 600, synced to disk).
    ///
    /// # Errors
    /// The file cannot be made or read, is open to everybody, or is malformed.
    pub fn read_or_make(file: &Path) -> Result<Self, SecretFileError> {
        let text = read_or_make(file)?;
        let mut bytes = [0; 32];
        for (byte, digits) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let digit = |at: usize| char::from(digits[at]).to_digit(16).unwrap_or_default();
            *byte = (digit(0) * 16 + digit(1)) as u8;
        }
        Ok(Self(bytes))
    }

    /// The bytes, for the one place that seals and opens.
    pub fn expose(&self) -> &[u8; 32] {
        &self.0
    }
}

impl fmt::Debug for MasterKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("MasterKey(********)")
    }
}
