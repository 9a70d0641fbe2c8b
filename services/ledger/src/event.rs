//! What happened: the part of an entry that its maker knows.
use std::borrow::Cow;

use serde::Serialize;

use crate::canonical::{self, ProfileFault};

/// One thing that happened, before it has a place in a ledger.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Event {
    /// What was done, as `a-z`, `0-9` and `_`: `record_scan`, `sign_case`.
    pub action: Cow<'static, str>,
    /// Who did it: a person's or a machine's id, never a name.
    pub actor: String,
    /// The station it was done at, if any.
    pub station: Option<String>,
    /// The id of what it was done to; never a patient's identity.
    pub subject: String,
    data: String,
}

impl Event {
    /// Makes an event whose `data` is one canonical JSON object of the profile. Structs declare
    /// their fields in key order and skip what is absent; personal values go in as commitments
    /// under `commitments`, by name.
    pub fn new(
        action: impl Into<Cow<'static, str>>,
        actor: impl Into<String>,
        station: Option<String>,
        subject: impl Into<String>,
        data: &(impl Serialize + ?Sized),
    ) -> Result<Self, ProfileFault> {
        let action = action.into();
        let named = |byte: u8| matches!(byte, b'a'..=b'z' | b'0'..=b'9' | b'_');
        if action.is_empty() || !action.bytes().all(named) {
            return Err(ProfileFault::Action);
        }
        Ok(Self {
            action,
            actor: actor.into(),
            station,
            subject: subject.into(),
            data: canonical::object_to_string(data)?,
        })
    }

    /// Gives the data as canonical JSON.
    pub fn data(&self) -> &str {
        &self.data
    }
}
