//! Files that hold one secret each: mode 600, complete or absent.

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::{OpenOptionsExt, PermissionsExt};
use std::path::{Path, PathBuf};

use rand::TryRng;
use rand::rngs::SysRng;

/// Why a secret file cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum SecretFileError {
    /// The file cannot be read or written.
    #[error("cannot use the secret file {}", path.display())]
    Io {
        /// The file.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
    /// The operating system gave no random bytes.
    #[error("the operating system gave no random bytes")]
    NoRandomness,
    /// Anybody on the machine could read or change the secret.
    #[error("{} is open to every user of this machine (mode {mode:o}); run: chmod 600 {}", path.display(), path.display())]
    Open {
        /// The file.
        path: PathBuf,
        /// Its permission bits.
        mode: u32,
    },
    /// The file does not hold 32 bytes in hexadecimal.
    #[error("{} does not hold 64 hexadecimal digits", path.display())]
    Malformed {
        /// The file.
        path: PathBuf,
    },
}

/// Gives the 64 hexadecimal digits kept in `path`, making them from the
/// operating system's random source when the file is absent.
///
/// Two processes that make the same file end with the same secret: the
/// complete file is linked into place, and the second link fails.
///
/// # Errors
/// The file cannot be made or read (its directory must exist), is open to
/// everybody, or is not 32 bytes in hexadecimal.
pub fn read_or_make(path: &Path) -> Result<String, SecretFileError> {
    let io = |source| SecretFileError::Io {
        path: path.to_owned(),
        source,
    };
    if let Some(found) = read(path)? {
        return Ok(found);
    }
    let directory = path.parent().unwrap_or(Path::new("."));
    let mut bytes = [0_u8; 32];
    SysRng
        .try_fill_bytes(&mut bytes)
        .map_err(|_| SecretFileError::NoRandomness)?;
    let text: String = bytes.iter().map(|byte| format!("{byte:02x}")).collect();
    let mut name = path.file_name().unwrap_or_default().to_owned();
    name.push(format!(".{}.new", std::process::id()));
    let new = directory.join(name);
    let mut file = OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(&new)
        .map_err(io)?;
    file.write_all(text.as_bytes()).map_err(io)?;
    file.sync_all().map_err(io)?;
    let linked = fs::hard_link(&new, path);
    fs::remove_file(&new).map_err(io)?;
    match linked {
        // A power cut after this must not lose a key that already sealed something.
        Ok(()) => File::open(directory)
            .and_then(|dir| dir.sync_all())
            .map_err(io)?,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => {}
        Err(error) => return Err(io(error)),
    }
    read(path)?.ok_or_else(|| io(io::ErrorKind::NotFound.into()))
}

/// Removes a secret that was never used; none there is as good.
///
/// # Errors
/// The operating system refuses.
pub fn remove(path: &Path) -> Result<(), SecretFileError> {
    match fs::remove_file(path) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(SecretFileError::Io {
            path: path.to_owned(),
            source: error,
        }),
        _ => Ok(()),
    }
}

/// Puts `next` in the place of `path`, which is kept as `former`; synced to disk.
///
/// # Errors
/// The operating system refuses; then `path` is as it was.
pub fn replace(next: &Path, path: &Path, former: &Path) -> Result<(), SecretFileError> {
    let directory = path.parent().unwrap_or(Path::new("."));
    // The rename is one step: at no moment is there no key at `path`.
    fs::hard_link(path, former)
        .and_then(|()| fs::rename(next, path))
        .and_then(|()| File::open(directory))
        .and_then(|directory| directory.sync_all())
        .map_err(|source| SecretFileError::Io {
            path: path.to_owned(),
            source,
        })
}

/// Gives the 64 hexadecimal digits kept in `path`; none when there is no file.
///
/// # Errors
/// As [`read_or_make`].
pub fn read(path: &Path) -> Result<Option<String>, SecretFileError> {
    let io = |source| SecretFileError::Io {
        path: path.to_owned(),
        source,
    };
    let text = match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(io(error)),
    };
    let mode = fs::metadata(path).map_err(io)?.permissions().mode() & 0o777;
    if mode & 0o007 != 0 {
        return Err(SecretFileError::Open {
            path: path.to_owned(),
            mode,
        });
    }
    let text = text.trim();
    if text.len() != 64 || !text.bytes().all(|byte| byte.is_ascii_hexdigit()) {
        return Err(SecretFileError::Malformed {
            path: path.to_owned(),
        });
    }
    Ok(Some(text.to_ascii_lowercase()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn scratch(name: &str) -> PathBuf {
        let dir = std::env::temp_dir().join(format!("lw-secret-{name}-{}", std::process::id()));
        let _ = fs::remove_dir_all(&dir);
        fs::create_dir(&dir).unwrap();
        dir
    }

    #[test]
    fn a_secret_is_made_once_with_mode_600() {
        let dir = scratch("once");
        let path = dir.join("secret");
        let first = read_or_make(&path).unwrap();
        assert_eq!(first, read_or_make(&path).unwrap());
        let mode = fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        assert_eq!(fs::read_dir(&dir).unwrap().count(), 1);
        fs::remove_dir_all(dir).unwrap();
    }

    #[test]
    fn a_secret_open_to_everybody_or_cut_short_is_refused() {
        let dir = scratch("open");
        let path = dir.join("secret");
        read_or_make(&path).unwrap();
        fs::set_permissions(&path, fs::Permissions::from_mode(0o644)).unwrap();
        assert!(matches!(
            read_or_make(&path),
            Err(SecretFileError::Open { mode: 0o644, .. })
        ));
        fs::set_permissions(&path, fs::Permissions::from_mode(0o600)).unwrap();
        fs::write(&path, "abc").unwrap();
        assert!(matches!(
            read_or_make(&path),
            Err(SecretFileError::Malformed { .. })
        ));
        fs::remove_dir_all(dir).unwrap();
    }
}
