//! Makes the data of a private cluster.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;

use super::account::Account;
use super::binaries::Binaries;
use super::configuration;
use super::control::{ControlError, run};
use super::layout::Layout;

/// First major version with PostgreSQL's built-in locale provider.
const BUILTIN_LOCALES_SINCE: u32 = 17;

/// Runs `initdb` for superuser `postgres` with this password: passwords
/// (SCRAM-SHA-256) on every connection, UTF-8, C.UTF-8, data checksums.
///
/// A crash on the way leaves no half-made cluster: the data get their name last.
///
/// # Errors
/// `initdb` fails or a file cannot be written.
pub fn initialise(
    binaries: &Binaries,
    account: &Account,
    layout: &Layout,
    password: &str,
) -> Result<(), ControlError> {
    let unfinished = layout.postgresql.join("data.new");
    let password_file = layout.postgresql.join("password.new");
    let attempt = |path: &Path, done: io::Result<()>| {
        done.map_err(|source| ControlError::File {
            path: path.to_owned(),
            source,
        })
    };
    attempt(&unfinished, remove(&unfinished))?;
    attempt(&password_file, write_private(&password_file, password))?;
    attempt(&password_file, account.own(&password_file))?;
    let mut initdb = account.command(&binaries.program("initdb"));
    initdb
        .args(["--username=postgres", "--encoding=UTF8", "--locale=C.UTF-8"])
        .args(["--auth-local=scram-sha-256", "--auth-host=scram-sha-256"])
        .args(["--data-checksums", "--no-instructions"])
        .arg("--pwfile")
        .arg(&password_file)
        .arg("--pgdata")
        .arg(&unfinished);
    if binaries.major >= BUILTIN_LOCALES_SINCE {
        // Sorting then never changes with an upgrade of the C library.
        initdb.args(["--locale-provider=builtin", "--builtin-locale=C.UTF-8"]);
    }
    let made = run(&mut initdb, "initdb");
    attempt(&password_file, fs::remove_file(&password_file))?;
    made?;
    let settings = unfinished.join("postgresql.conf");
    let included = format!("\ninclude_dir = '{}'\n", configuration::INCLUDED);
    attempt(&settings, append(&settings, &included))?;
    attempt(&layout.data, fs::rename(&unfinished, &layout.data))
}

fn remove(directory: &Path) -> io::Result<()> {
    match fs::remove_dir_all(directory) {
        Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
        _ => Ok(()),
    }
}

fn write_private(path: &Path, text: &str) -> io::Result<()> {
    OpenOptions::new()
        .write(true)
        .create(true)
        .truncate(true)
        .mode(0o600)
        .open(path)?
        .write_all(text.as_bytes())
}

fn append(path: &Path, text: &str) -> io::Result<()> {
    OpenOptions::new()
        .append(true)
        .open(path)?
        .write_all(text.as_bytes())
}
