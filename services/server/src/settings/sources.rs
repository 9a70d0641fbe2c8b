//! Finds each setting's text and where it came from.

use std::collections::BTreeMap;
use std::fmt;
use std::path::{Path, PathBuf};

use super::SettingsError;
use super::data_dir::system_data_dir;
use super::declared::{DECLARED, Declared, Fallback, Key};
use super::flags::Flags;

/// Where a setting's value came from.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Origin {
    /// A flag on the command line.
    Flag(String),
    /// An environment variable.
    Environment(String),
    /// The settings file.
    File(PathBuf),
    /// Nobody set it.
    Default,
}

impl fmt::Display for Origin {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Flag(flag) => write!(f, "flag --{flag}"),
            Self::Environment(variable) => write!(f, "environment {variable}"),
            Self::File(file) => write!(f, "file {}", file.display()),
            Self::Default => f.write_str("default"),
        }
    }
}

/// One setting's text and origin; `Debug` never shows a secret one's text.
#[derive(Clone)]
pub struct Found {
    /// The row it belongs to.
    pub declared: &'static Declared,
    /// The text, or nothing where the default is to have none.
    pub text: Option<String>,
    /// Where the text came from.
    pub origin: Origin,
}

impl fmt::Debug for Found {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let text = if self.declared.secret {
            self.text.as_ref().map(|_| "********")
        } else {
            self.text.as_deref()
        };
        f.debug_struct("Found")
            .field("name", &self.declared.name)
            .field("text", &text)
            .field("origin", &self.origin)
            .finish()
    }
}

/// Reads an environment variable; a parameter so that tests need no process environment.
pub type Environment<'a> = &'a dyn Fn(&str) -> Option<String>;

/// Everything found, and the settings file it looked at.
pub struct Sources {
    /// One row for each declared setting, in order.
    pub found: Vec<Found>,
    /// The settings file, whether or not it exists; none where nothing says where it would be.
    pub file: Option<PathBuf>,
}

impl Sources {
    /// Resolves every setting: flag over environment over file over default.
    ///
    /// # Errors
    /// An unreadable or malformed file, or an unknown key in it.
    pub fn find(flags: &Flags, environment: Environment<'_>) -> Result<Self, SettingsError> {
        let given = |row: &'static Declared| {
            let flag = flags.values.get(row.key as usize).cloned().flatten();
            if let Some(text) = flag {
                return Some((text, Origin::Flag(row.flag())));
            }
            let variable = row.variable();
            let text = environment(&variable).filter(|text| !text.is_empty())?;
            Some((text, Origin::Environment(variable)))
        };
        let named = flags
            .file
            .clone()
            .or_else(|| environment("LOTWARDEN_SETTINGS").filter(|text| !text.is_empty()));
        let data_dir_row = &DECLARED[Key::DataDir as usize];
        let in_data_dir = || {
            let data_dir = given(data_dir_row).map(|(text, _)| PathBuf::from(text));
            let data_dir = data_dir.or_else(|| system_data_dir(environment));
            data_dir.map(|data_dir| data_dir.join("lotwarden.toml"))
        };
        let (file, in_file) = match named {
            Some(name) => {
                let file = PathBuf::from(name);
                let values = read_file(&file)?;
                (Some(file), values)
            }
            None => match in_data_dir() {
                Some(file) if file.exists() => {
                    let values = read_file(&file)?;
                    // A file found through the data directory cannot move it.
                    if values.contains_key(data_dir_row.name) {
                        return Err(SettingsError::DataDirInside { file });
                    }
                    (Some(file), values)
                }
                absent => (absent, BTreeMap::new()),
            },
        };
        let mut found = Vec::with_capacity(DECLARED.len());
        for row in DECLARED {
            let (text, origin) = match given(row) {
                Some((text, origin)) => (Some(text), origin),
                None => match (in_file.get(row.name), &file) {
                    (Some(text), Some(file)) => (Some(text.clone()), Origin::File(file.clone())),
                    _ => (fallback(row, &found, environment), Origin::Default),
                },
            };
            found.push(Found {
                declared: row,
                text,
                origin,
            });
        }
        Ok(Self { found, file })
    }
}

fn fallback(row: &Declared, found: &[Found], environment: Environment<'_>) -> Option<String> {
    match row.fallback {
        Fallback::Text(text) => Some(text.to_owned()),
        Fallback::SystemDataDir => {
            system_data_dir(environment).map(|data_dir| data_dir.display().to_string())
        }
        Fallback::InDataDir(name) => {
            // The data directory is the first row, so it is already known here.
            let data_dir = found.first().and_then(|row| row.text.as_deref());
            data_dir.map(|dir| Path::new(dir).join(name).display().to_string())
        }
        Fallback::Processors => {
            let processors = std::thread::available_parallelism().map_or(1, usize::from);
            Some(processors.to_string())
        }
        Fallback::Nothing(_) => None,
    }
}

fn read_file(file: &Path) -> Result<BTreeMap<String, String>, SettingsError> {
    let text = std::fs::read_to_string(file).map_err(|source| SettingsError::Unreadable {
        file: file.to_owned(),
        source,
    })?;
    let table: toml::Table = text.parse().map_err(|source: toml::de::Error| {
        // The error's own text quotes the line, which may hold a password.
        let line = source
            .span()
            .map_or(1, |span| text[..span.start].lines().count().max(1));
        SettingsError::Malformed {
            file: file.to_owned(),
            line,
        }
    })?;
    let mut values = BTreeMap::new();
    for (key, value) in table {
        if !DECLARED.iter().any(|row| row.name == key) {
            return Err(SettingsError::UnknownKey {
                file: file.to_owned(),
                key,
            });
        }
        let text = match value {
            toml::Value::String(text) => text,
            toml::Value::Integer(number) => number.to_string(),
            _ => {
                return Err(SettingsError::NotText {
                    file: file.to_owned(),
                    key,
                });
            }
        };
        values.insert(key, text);
    }
    Ok(values)
}
