//! The key that wraps every facility key, kept outside the database.

use std::fmt;
use std::path::{Path, PathBuf};

use super::secret_file::{SecretFileError, read, read_or_make, remove, replace};

/// 32 random bytes; `Debug` shows none of them.
pub struct MasterKey([u8; 32]);

impl MasterKey {
    /// Reads the key, or makes it at the first start (mode 600, synced to disk).
    ///
    /// # Errors
    /// The file cannot be made or read, is open to everybody, or is malformed.
    pub fn read_or_make(file: &Path) -> Result<Self, SecretFileError> {
        Ok(Self::of(&read_or_make(file)?))
    }

    /// Reads the key; none when there is no file.
    ///
    /// # Errors
    /// As [`Self::read_or_make`].
    pub fn read(file: &Path) -> Result<Option<Self>, SecretFileError> {
        Ok(read(file)?.as_deref().map(Self::of))
    }

    /// Makes the key that is to replace the one in the file, beside it; one that was left there by
    /// a rotation that came to nothing is made anew.
    ///
    /// # Errors
    /// As [`Self::read_or_make`].
    pub fn make_next(file: &Path) -> Result<Self, SecretFileError> {
        let next = beside(file, "next");
        remove(&next)?;
        Self::read_or_make(&next)
    }

    /// Reads the key that is to replace the one in the file.
    ///
    /// # Errors
    /// As [`Self::read_or_make`].
    pub fn read_next(file: &Path) -> Result<Option<Self>, SecretFileError> {
        Self::read(&beside(file, "next"))
    }

    /// Puts the next key in the file's place, and says where the former one is kept.
    ///
    /// # Errors
    /// The files cannot be renamed.
    pub fn adopt_next(file: &Path) -> Result<PathBuf, SecretFileError> {
        let former = (1..).map(|number| beside(file, &format!("former-{number}")));
        let mut former = former.skip_while(|path| path.exists());
        // There is always one more number.
        let kept = former.next().unwrap_or_else(|| beside(file, "former"));
        replace(&beside(file, "next"), file, &kept)?;
        Ok(kept)
    }

    fn of(text: &str) -> Self {
        let mut bytes = [0; 32];
        for (byte, digits) in bytes.iter_mut().zip(text.as_bytes().chunks_exact(2)) {
            let digit = |at: usize| char::from(digits[at]).to_digit(16).unwrap_or_default();
            *byte = (digit(0) * 16 + digit(1)) as u8;
        }
        Self(bytes)
    }

    /// The bytes, for the one place that seals and opens.
    pub fn expose(&self) -> &[u8; 32] {
        &self.0
    }
}

fn beside(file: &Path, suffix: &str) -> PathBuf {
    let mut name = file.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{suffix}"));
    file.with_file_name(name)
}

impl fmt::Debug for MasterKey {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("MasterKey(********)")
    }
}
