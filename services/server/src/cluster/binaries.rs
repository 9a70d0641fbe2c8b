//! Finds PostgreSQL's server programs.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Why no server programs can be used.
#[derive(Debug, thiserror::Error)]
pub enum BinariesError {
    /// None are installed.
    #[error(
        "no PostgreSQL server programs found; install them with: apt-get install postgresql \
         (deploy/up does), or name their directory with LOTWARDEN_PG_BIN"
    )]
    Missing,
    /// The named directory has none.
    #[error("{} does not hold initdb, pg_ctl and postgres (LOTWARDEN_PG_BIN)", directory.display())]
    NotHere {
        /// The directory.
        directory: PathBuf,
    },
    /// The data were made by a major version that is not installed.
    #[error(
        "the private cluster was made by PostgreSQL {major}, whose server programs are not \
         installed; install them with: apt-get install postgresql-{major}, \
         or move the data with pg_upgrade"
    )]
    OtherVersion {
        /// The major version needed.
        major: u32,
    },
}

/// A directory with `initdb`, `pg_ctl` and `postgres` of one major version.
#[derive(Clone, Debug)]
pub struct Binaries {
    directory: PathBuf,
    /// Major version, such as 15.
    pub major: u32,
}

impl Binaries {
    /// Finds the newest, or the version `needed` by data that exist already.
    ///
    /// # Errors
    /// None fit; the text names the command that installs them.
    pub fn find(named: Option<&Path>, needed: Option<u32>) -> Result<Self, BinariesError> {
        if let Some(directory) = named {
            let found = Self::at(directory).ok_or_else(|| BinariesError::NotHere {
                directory: directory.to_owned(),
            })?;
            return Self::fitting([found].into_iter(), needed);
        }
        let installed = fs::read_dir("/usr/lib/postgresql")
            .into_iter()
            .flatten()
            .flatten()
            .map(|version| version.path().join("bin"));
        let found: Vec<Self> = installed
            .chain(configured_directory())
            .filter_map(|directory| Self::at(&directory))
            .collect();
        Self::fitting(found.into_iter(), needed)
    }

    /// Path of one server program.
    pub fn program(&self, name: &str) -> PathBuf {
        self.directory.join(name)
    }

    fn fitting(
        found: impl Iterator<Item = Self>,
        needed: Option<u32>,
    ) -> Result<Self, BinariesError> {
        match needed {
            Some(major) => found
                .filter(|binaries| binaries.major == major)
                .last()
                .ok_or(BinariesError::OtherVersion { major }),
            None => found
                .max_by_key(|binaries| binaries.major)
                .ok_or(BinariesError::Missing),
        }
    }

    fn at(directory: &Path) -> Option<Self> {
        let complete = ["initdb", "pg_ctl", "postgres"]
            .iter()
            .all(|program| directory.join(program).is_file());
        if !complete {
            return None;
        }
        let said = Command::new(directory.join("postgres"))
            .arg("--version")
            .output()
            .ok()?;
        let major = major_of(&String::from_utf8_lossy(&said.stdout))?;
        Some(Self {
            directory: directory.to_owned(),
            major,
        })
    }
}

/// The directory that a `pg_config` on the search path reports.
fn configured_directory() -> Option<PathBuf> {
    let said = Command::new("pg_config").arg("--bindir").output().ok()?;
    let text = String::from_utf8(said.stdout).ok()?;
    Some(PathBuf::from(text.trim()))
}

/// Reads `postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)`, also `17beta1` and `18devel`.
fn major_of(version: &str) -> Option<u32> {
    let number = version.split_whitespace().nth(2)?;
    let digits: String = number.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().ok()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_major_version_is_the_leading_number() {
        let debian = "postgres (PostgreSQL) 15.14 (Debian 15.14-0+deb12u1)\n";
        assert_eq!(major_of(debian), Some(15));
        assert_eq!(major_of("postgres (PostgreSQL) 18devel"), Some(18));
        assert_eq!(major_of("something else"), None);
    }

    #[test]
    fn data_of_another_version_are_not_opened_by_the_newest() {
        let of = |major| Binaries {
            directory: PathBuf::from(format!("/usr/lib/postgresql/{major}/bin")),
            major,
        };
        let both = || [of(15), of(17)].into_iter();
        assert_eq!(Binaries::fitting(both(), None).unwrap().major, 17);
        assert_eq!(Binaries::fitting(both(), Some(15)).unwrap().major, 15);
        assert!(matches!(
            Binaries::fitting(both(), Some(16)),
            Err(BinariesError::OtherVersion { major: 16 })
        ));
    }
}
