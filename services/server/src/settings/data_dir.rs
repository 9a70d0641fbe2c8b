//! Where the data directory is when nobody says, and how it is made.

use std::fs;
use std::io;
use std::os::unix::fs::{DirBuilderExt, PermissionsExt};
use std::path::{Path, PathBuf};

use super::sources::Environment;

/// Gives `/var/lib/lotwarden` to root and `$XDG_DATA_HOME/lotwarden`, else
/// `~/.local/share/lotwarden`, to everybody else.
///
/// A relative `XDG_DATA_HOME` is ignored (XDG Base Directory Specification 0.8); nothing
/// where neither variable names a directory.
pub fn system_data_dir(environment: Environment<'_>) -> Option<PathBuf> {
    if rustix::process::geteuid().is_root() {
        return Some(PathBuf::from("/var/lib/lotwarden"));
    }
    let absolute = |name: &str| {
        environment(name)
            .map(PathBuf::from)
            .filter(|path| path.is_absolute())
    };
    absolute("XDG_DATA_HOME")
        .or_else(|| absolute("HOME").map(|home| home.join(".local/share")))
        .map(|share| share.join("lotwarden"))
}

/// Makes the data directory where it is missing: of mode 700, or 711 for root,
/// whose PostgreSQL runs under another account that must pass through.
///
/// # Errors
/// The operating system refuses.
pub fn ensure_data_dir(path: &Path) -> io::Result<()> {
    if path.is_dir() {
        return Ok(());
    }
    if let Some(above) = path.parent() {
        fs::create_dir_all(above)?;
    }
    let root = rustix::process::geteuid().is_root();
    let mode = if root { 0o711 } else { 0o700 };
    match fs::DirBuilder::new().mode(mode).create(path) {
        // The process's umask may have taken bits away.
        Ok(()) => fs::set_permissions(path, fs::Permissions::from_mode(mode)),
        Err(error) if error.kind() == io::ErrorKind::AlreadyExists => Ok(()),
        Err(error) => Err(error),
    }
}
