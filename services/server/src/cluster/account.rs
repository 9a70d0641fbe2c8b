//! The operating-system account PostgreSQL runs under.

use std::fs;
use std::io;
use std::os::unix::fs::{MetadataExt, chown};
use std::os::unix::process::CommandExt;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Why PostgreSQL cannot run under any account.
#[derive(Debug, thiserror::Error)]
pub enum AccountError {
    /// Root has no unprivileged account to hand PostgreSQL to.
    #[error(
        "PostgreSQL refuses to run as root and there is no account `postgres`; \
         install it with: apt-get install postgresql (deploy/up does), \
         or run lotwarden as an ordinary user"
    )]
    NoPostgresAccount,
    /// A directory above the data shuts the account out.
    #[error(
        "the account `postgres`, under which PostgreSQL runs, cannot enter {} (mode {mode:o}); \
         choose another directory with LOTWARDEN_DATA_DIR, or run: chmod o+x '{}'",
        directory.display(), directory.display()
    )]
    NotReachable {
        /// The topmost directory that shuts it out.
        directory: PathBuf,
        /// Its permission bits.
        mode: u32,
    },
    /// The list of accounts or a directory cannot be read.
    #[error("cannot read {}", path.display())]
    Unreadable {
        /// What cannot be read.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
}

/// Whose rights PostgreSQL has: this process's own, or those of `postgres` when this is root.
#[derive(Clone, Copy, Debug)]
pub struct Account {
    /// User id PostgreSQL runs under.
    pub uid: u32,
    other: Option<(u32, u32)>,
}

impl Account {
    /// Finds the account for this process.
    ///
    /// # Errors
    /// This is root and the machine has no account `postgres`.
    pub fn current() -> Result<Self, AccountError> {
        let own = rustix::process::geteuid();
        if !own.is_root() {
            return Ok(Self {
                uid: own.as_raw(),
                other: None,
            });
        }
        let path = Path::new("/etc/passwd");
        let accounts = fs::read_to_string(path).map_err(|source| AccountError::Unreadable {
            path: path.to_owned(),
            source,
        })?;
        let (uid, gid) = postgres_in(&accounts).ok_or(AccountError::NoPostgresAccount)?;
        Ok(Self {
            uid,
            other: Some((uid, gid)),
        })
    }

    /// Whether PostgreSQL runs under another account than this process.
    pub fn is_other(self) -> bool {
        self.other.is_some()
    }

    /// Prepares a program that runs under the account with nothing of this
    /// environment: a `PGPORT` or `PGDATA` of the caller must not reach it.
    pub fn command(self, program: &Path) -> Command {
        let mut command = Command::new(program);
        command
            .env_clear()
            .env("PATH", "/usr/local/bin:/usr/bin:/bin")
            .env("LC_ALL", "C.UTF-8")
            .env("TZ", "UTC")
            .current_dir("/");
        if let Some((uid, gid)) = self.other {
            // With a user id set, the standard library drops root's other groups too.
            command.uid(uid).gid(gid);
        }
        command
    }

    /// Gives `path` to the account.
    ///
    /// # Errors
    /// The operating system refuses.
    pub fn own(self, path: &Path) -> io::Result<()> {
        match self.other {
            Some((uid, gid)) => chown(path, Some(uid), Some(gid)),
            None => Ok(()),
        }
    }

    /// Checks that the account can enter a directory and all above it.
    ///
    /// # Errors
    /// One of them lacks the right, and is named.
    pub fn require_reach(self, directory: &Path) -> Result<(), AccountError> {
        let Some((uid, gid)) = self.other else {
            return Ok(());
        };
        let unreadable = |path: &Path, source| AccountError::Unreadable {
            path: path.to_owned(),
            source,
        };
        // Behind a symbolic link, the directories of its target count.
        let real = fs::canonicalize(directory).map_err(|source| unreadable(directory, source))?;
        let mut path: Vec<&Path> = real.ancestors().collect();
        path.reverse();
        for directory in path {
            let found = fs::metadata(directory).map_err(|source| unreadable(directory, source))?;
            let enter = if found.uid() == uid {
                0o100
            } else if found.gid() == gid {
                0o010
            } else {
                0o001
            };
            if found.mode() & enter == 0 {
                return Err(AccountError::NotReachable {
                    directory: directory.to_owned(),
                    mode: found.mode() & 0o7777,
                });
            }
        }
        Ok(())
    }
}

/// Finds `postgres` in the text of passwd(5): name, password, uid, gid, ...
fn postgres_in(accounts: &str) -> Option<(u32, u32)> {
    accounts.lines().find_map(|line| {
        let mut fields = line.split(':');
        (fields.next() == Some("postgres")).then_some(())?;
        let uid = fields.nth(1)?.parse().ok()?;
        let gid = fields.next()?.parse().ok()?;
        Some((uid, gid))
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_account_is_found_by_its_whole_name() {
        let accounts = "root:x:0:0:root:/root:/bin/bash\n\
                        postgres2:x:7:8::/:/bin/sh\n\
                        postgres:x:101:104:PostgreSQL administrator,,,:/var/lib/postgresql:/bin/bash\n";
        assert_eq!(postgres_in(accounts), Some((101, 104)));
        assert_eq!(postgres_in("root:x:0:0::/root:/bin/sh\n"), None);
    }
}
