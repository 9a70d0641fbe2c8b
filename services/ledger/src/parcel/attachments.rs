//! What a parcel carries beside the entries, and how the export entry binds it.
use jiff::Timestamp;
use serde::{Deserialize, Serialize};

use crate::{
    canonical::{self, ProfileFault},
    hash::Hash,
    stamp,
};

/// The rendered sections `cases`, `signatures` and `people`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Attachments {
    text: String,
    cases: u64,
    signatures: u64,
    people: u64,
}

/// One electronic signature (21 CFR 11.50: name, time, meaning), with the entry that made it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct SignatureLine {
    /// The signed case.
    pub case: String,
    /// The signature's id; `signature` in the entry's data.
    pub id: String,
    /// What signing meant.
    pub meaning: String,
    /// The signer's printed name.
    pub name: String,
    /// The signer's id.
    pub person: String,
    /// The position of its `sign_case` entry.
    pub position: u64,
    /// The hash of the record as it was signed.
    pub record_hash: Hash,
    /// When it was signed.
    #[serde(with = "stamp")]
    pub signed_at: Timestamp,
}

/// The members that the data of an `export_parcel` entry must have; it may have more.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct ExportData {
    /// The SHA-256 over the three sections.
    pub attachments: Hash,
    /// The number of cases.
    pub cases: u64,
    /// The facility, as in the parcel's header.
    pub facility: String,
    /// The number of people.
    pub people: u64,
    /// The number of signatures.
    pub signatures: u64,
}

impl Attachments {
    /// Renders the sections; each case and person must be a JSON object of the profile.
    pub fn new(
        cases: impl IntoIterator<Item = impl Serialize>,
        signatures: impl IntoIterator<Item = SignatureLine>,
        people: impl IntoIterator<Item = impl Serialize>,
    ) -> Result<Self, ProfileFault> {
        let mut text = String::new();
        Ok(Self {
            cases: section(&mut text, "cases", cases)?,
            signatures: section(&mut text, "signatures", signatures)?,
            people: section(&mut text, "people", people)?,
            text,
        })
    }

    /// Gives the SHA-256 over the bytes of the three sections, their first lines included.
    pub fn digest(&self) -> Hash {
        Hash::of(self.text.as_bytes())
    }

    /// Gives the data of the `export_parcel` entry that binds them.
    pub fn export_data(&self, facility: impl Into<String>) -> ExportData {
        ExportData {
            attachments: self.digest(),
            cases: self.cases,
            facility: facility.into(),
            people: self.people,
            signatures: self.signatures,
        }
    }

    pub(super) fn text(&self) -> &str {
        &self.text
    }
}

fn section(
    text: &mut String,
    name: &str,
    lines: impl IntoIterator<Item = impl Serialize>,
) -> Result<u64, ProfileFault> {
    let (mut count, mut rendered) = (0, String::new());
    for line in lines {
        rendered.push_str(&canonical::object_to_string(&line)?);
        rendered.push('\n');
        count += 1;
    }
    text.push_str(&format!("{name} {count}\n"));
    text.push_str(&rendered);
    Ok(count)
}
