//! Where everything of the private cluster lies.

use std::fs;
use std::io;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{DirBuilderExt, MetadataExt};
use std::path::{Path, PathBuf};

use sha2::{Digest, Sha256};

use super::account::Account;

/// Longest directory that leaves room for `/.s.PGSQL.5432` in the 107 bytes of a socket path.
const LONGEST_SOCKET_DIRECTORY: usize = 107 - "/.s.PGSQL.5432".len();

/// Why the directories cannot be used.
#[derive(Debug, thiserror::Error)]
pub enum LayoutError {
    /// The operating system refuses.
    #[error("cannot use {}", path.display())]
    Io {
        /// The file or directory.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
    /// A directory that must be PostgreSQL's own belongs to somebody else.
    #[error(
        "{} belongs to user {owner} but PostgreSQL would run as user {wanted}; \
         run lotwarden as the user who made it, or use another LOTWARDEN_DATA_DIR",
        path.display()
    )]
    Foreign {
        /// The directory.
        path: PathBuf,
        /// Its owner.
        owner: u32,
        /// The user PostgreSQL runs as.
        wanted: u32,
    },
    /// A directory that must be private is open to others, or is not a directory.
    #[error("{} must be a directory of mode 700", path.display())]
    NotPrivate {
        /// The directory.
        path: PathBuf,
    },
}

/// The paths of one private cluster.
#[derive(Clone, Debug)]
pub struct Layout {
    data_dir: PathBuf,
    /// Directory of PostgreSQL's account, holding all that it writes.
    pub postgresql: PathBuf,
    /// PostgreSQL's own data directory.
    pub data: PathBuf,
    /// Directory of the socket; letters, digits, `/`, `.`, `_` and `-` only.
    pub sockets: PathBuf,
    /// Directory of the passwords.
    pub secrets: PathBuf,
}

impl Layout {
    /// Lays out the cluster of a data directory; nothing is made.
    pub fn of(data_dir: &Path) -> Self {
        let postgresql = data_dir.join("postgresql");
        Self {
            data: postgresql.join("data"),
            sockets: socket_directory(data_dir),
            secrets: data_dir.join("secrets"),
            data_dir: data_dir.to_owned(),
            postgresql,
        }
    }

    /// Lock that keeps two commands from making or starting the cluster at once.
    pub fn lock_file(&self) -> PathBuf {
        self.data_dir.join("cluster.lock")
    }

    /// What PostgreSQL says before its own log is open.
    pub fn start_log(&self) -> PathBuf {
        self.postgresql.join("start.log")
    }

    /// Major version that made the data, or nothing where there are none.
    ///
    /// # Errors
    /// The file with the version cannot be read.
    pub fn version(&self) -> Result<Option<u32>, LayoutError> {
        let path = self.data.join("PG_VERSION");
        match fs::read_to_string(&path) {
            Ok(text) => Ok(text.trim().parse().ok()),
            Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
            Err(source) => Err(LayoutError::Io { path, source }),
        }
    }

    /// Makes every directory that is missing, private to whom it belongs.
    ///
    /// # Errors
    /// The operating system refuses, or a directory belongs to somebody else.
    pub fn ensure_directories(&self, account: &Account) -> Result<(), LayoutError> {
        make_private(&self.postgresql, account)?;
        make_private(&self.sockets, account)?;
        match fs::DirBuilder::new().mode(0o700).create(&self.secrets) {
            Err(error) if error.kind() != io::ErrorKind::AlreadyExists => {
                Err(failed(&self.secrets, error))
            }
            _ => Ok(()),
        }
    }

    /// Removes a socket directory outside the data directory once it is empty.
    pub fn remove_socket_directory(&self) {
        if !self.sockets.starts_with(&self.data_dir) {
            // Left behind is harmless: the next start uses it again.
            let _ = fs::remove_dir(&self.sockets);
        }
    }
}

/// Chooses the socket's directory: in the data directory, or, where that path
/// is too long or has unusual characters, one under /tmp named after a hash of it.
///
/// Not in `XDG_RUNTIME_DIR`, which goes away at logout while the service stays.
fn socket_directory(data_dir: &Path) -> PathBuf {
    let inside = data_dir.join("postgresql").join("run");
    let bytes = inside.as_os_str().as_bytes();
    let plain = |byte: &u8| byte.is_ascii_alphanumeric() || b"/._-".contains(byte);
    if bytes.len() <= LONGEST_SOCKET_DIRECTORY && bytes.iter().all(plain) {
        return inside;
    }
    let hash = Sha256::digest(data_dir.as_os_str().as_bytes());
    let name: String = hash
        .iter()
        .take(8)
        .map(|byte| format!("{byte:02x}"))
        .collect();
    PathBuf::from(format!("/tmp/lotwarden-{name}"))
}

fn failed(path: &Path, source: io::Error) -> LayoutError {
    LayoutError::Io {
        path: path.to_owned(),
        source,
    }
}

/// Makes a directory of PostgreSQL's account, and refuses one that another user could have planted.
fn make_private(path: &Path, account: &Account) -> Result<(), LayoutError> {
    let made = match fs::DirBuilder::new().mode(0o700).create(path) {
        Ok(()) => true,
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => false,
        Err(source) => return Err(failed(path, source)),
    };
    if made {
        account.own(path).map_err(|source| failed(path, source))?;
    }
    let found = fs::symlink_metadata(path).map_err(|source| failed(path, source))?;
    if found.is_dir() && found.uid() == 0 && account.is_other() {
        // A start cut off between making and handing over; only root can have made it.
        account.own(path).map_err(|source| failed(path, source))?;
    } else if found.uid() != account.uid {
        return Err(LayoutError::Foreign {
            path: path.to_owned(),
            owner: found.uid(),
            wanted: account.uid,
        });
    }
    if !found.is_dir() || found.mode() & 0o077 != 0 {
        return Err(LayoutError::NotPrivate {
            path: path.to_owned(),
        });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    // unix(7): sun_path is 108 bytes with its terminating zero.
    #[test]
    fn a_socket_path_never_exceeds_107_bytes_nor_needs_quoting() {
        let long = format!("/srv/{}", "x".repeat(90));
        for dir in [
            "/var/lib/lotwarden",
            &long,
            "/srv/the ward, east",
            "/srv/größe",
        ] {
            let sockets = Layout::of(Path::new(dir)).sockets;
            let socket = format!("{}/.s.PGSQL.5432", sockets.display());
            assert!(socket.len() <= 107, "{socket}");
            assert!(!socket.contains([' ', ',', '\'', '"']), "{socket}");
        }
    }

    #[test]
    fn two_long_data_directories_have_two_socket_directories() {
        let of = |last: &str| {
            let dir = format!("/srv/{}/{last}", "x".repeat(90));
            Layout::of(Path::new(&dir)).sockets
        };
        assert_ne!(of("east"), of("west"));
        assert_eq!(of("east"), of("east"));
    }
}
