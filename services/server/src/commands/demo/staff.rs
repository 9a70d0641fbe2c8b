//! The people of the demonstration facility, and the file their passwords are in.

use std::fs::{self, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};

use anyhow::Context;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

/// An invented person.
pub struct Invented {
    /// The login.
    pub login: &'static str,
    /// The printed name.
    pub name: &'static str,
    /// What the person is here for.
    pub role: Role,
}

/// Everybody, the administrator first: that account adds the others.
pub const STAFF: [Invented; 9] = [
    invented("t.farrow", "Tobin Farrow", Role::Administrator),
    invented("b.cobble", "Bram Cobble", Role::Materials),
    invented("p.quillon", "Petra Quillon", Role::Circulator),
    invented("o.marsh", "Odile Marsh", Role::Circulator),
    invented("i.stellan", "Dr Ivo Stellan", Role::Practitioner),
    invented("m.thorne", "Dr Maren Thorne", Role::Practitioner),
    invented("l.ashgrove", "Linnea Ashgrove", Role::Compliance),
    invented("v.lark", "Verity Lark", Role::Inspector),
    invented("booking.bridge", "Booking bridge", Role::Integration),
];

const fn invented(login: &'static str, name: &'static str, role: Role) -> Invented {
    Invented { login, name, role }
}

/// A person who can sign in.
#[derive(Clone, Debug)]
pub struct Account {
    /// The login.
    pub login: String,
    /// The printed name.
    pub name: String,
    /// What the person is here for, in words.
    pub role: String,
    /// The password, made at random at load.
    pub password: String,
}

/// Where the passwords are kept.
pub fn file(data_dir: &Path) -> PathBuf {
    data_dir.join("demo-people.json")
}

/// The accounts as the file and `--json` show them.
pub fn document(facility: &str, accounts: &[Account]) -> Value {
    let people: Vec<Value> = accounts
        .iter()
        .map(|one| {
            json!({"login": one.login, "name": one.name, "roles": [one.role], "password": one.password})
        })
        .collect();
    json!({"facility": facility, "people": people})
}

/// Writes the file, complete or not at all, for its owner's eyes only.
///
/// # Errors
/// The data directory cannot be written.
pub fn write(path: &Path, facility: &str, accounts: &[Account]) -> anyhow::Result<()> {
    let new = path.with_extension("json.new");
    let text = format!("{:#}\n", document(facility, accounts));
    let written = (|| {
        match fs::remove_file(&new) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
        let mut file = OpenOptions::new()
            .write(true)
            .create_new(true)
            .mode(0o600)
            .open(&new)?;
        file.write_all(text.as_bytes())?;
        file.sync_all()?;
        fs::rename(&new, path)
    })();
    written.with_context(|| format!("cannot write {}", path.display()))
}

/// Reads the file; none where there is none.
///
/// # Errors
/// It cannot be read, or is not as [`write`] leaves it.
pub fn read(path: &Path) -> anyhow::Result<Option<Vec<Account>>> {
    let text = match fs::read_to_string(path) {
        Ok(text) => text,
        Err(error) if error.kind() == io::ErrorKind::NotFound => return Ok(None),
        Err(error) => return Err(error).with_context(|| format!("cannot read {}", path.display())),
    };
    let document: Value =
        serde_json::from_str(&text).with_context(|| format!("{} is not JSON", path.display()))?;
    let people = document["people"].as_array().map(Vec::as_slice);
    let accounts: Option<Vec<Account>> = people.unwrap_or_default().iter().map(account).collect();
    accounts
        .map(Some)
        .with_context(|| format!("{} does not hold the demonstration people", path.display()))
}

fn account(value: &Value) -> Option<Account> {
    let text = |value: &Value| value.as_str().map(str::to_owned);
    Some(Account {
        login: text(&value["login"])?,
        name: text(&value["name"])?,
        role: text(&value["roles"][0])?,
        password: text(&value["password"])?,
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::os::unix::fs::PermissionsExt;

    #[test]
    fn the_file_is_read_back_and_nobody_else_can_open_it() {
        let path = std::env::temp_dir().join(format!("lw-demo-{}.json", std::process::id()));
        let accounts = [Account {
            login: "a".to_owned(),
            name: "A".to_owned(),
            role: "materials".to_owned(),
            password: "p".to_owned(),
        }];
        write(&path, "F", &accounts).unwrap();
        write(&path, "F", &accounts).unwrap();
        let mode = fs::metadata(&path).unwrap().permissions().mode();
        assert_eq!(mode & 0o777, 0o600);
        let back = read(&path).unwrap().unwrap();
        assert_eq!(back[0].password, "p");
        fs::remove_file(&path).unwrap();
        assert!(read(&path).unwrap().is_none());
    }

    #[test]
    fn every_role_has_somebody() {
        for role in Role::ALL {
            assert!(STAFF.iter().any(|one| one.role == *role), "{role}");
        }
    }
}
