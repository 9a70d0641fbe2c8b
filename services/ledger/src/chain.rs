//! Checks a chain of entries one body at a time, from the stored bytes alone.
use uuid::Uuid;

use crate::{
    body::Body,
    canonical::{self, ProfileFault},
    hash::{Hash, entry_hash},
    head::{Head, MAX_BODY},
};

/// Follows a ledger's entries in order and stops at the first that does not fit.
///
/// Checked are the ledger's id, the position (no gap), `previous` (the hash of the entry before)
/// and the time (never earlier than that of the entry before). The bytes are hashed as they are;
/// nothing is written anew.
#[derive(Debug, Clone)]
pub struct ChainCheck {
    head: Head,
    ledger: [u8; 36],
    strict: bool,
}

/// The first entry that does not fit.
#[derive(Debug, thiserror::Error)]
#[error("entry {position}: {reason}")]
pub struct Fault {
    /// The position at which an entry was due.
    pub position: u64,
    /// Why the entry given there does not fit.
    pub reason: Reason,
}

/// Why an entry does not fit.
#[derive(Debug, thiserror::Error)]
pub enum Reason {
    /// A member is missing, out of order or malformed.
    #[error("this is not an entry: its member {member} is not as it must be")]
    Form {
        /// The first member that is not where it is due.
        member: &'static str,
    },
    /// The body is longer than an entry can be.
    #[error("it has {bytes} bytes; an entry has at most {MAX_BODY}")]
    TooLong {
        /// Its length.
        bytes: usize,
    },
    /// The entry names another ledger.
    #[error("it belongs to another ledger")]
    Ledger,
    /// Another position stands where this one is due.
    #[error("position {found} stands in its place; an entry was removed, added or moved")]
    Position {
        /// The position that the entry gives itself.
        found: u64,
    },
    /// The entry is not chained to the one before it.
    #[error("its link is not the hash of the entry before it; that entry or this one was changed")]
    Previous,
    /// The time steps back.
    #[error("its time is earlier than that of the entry before it")]
    Time,
    /// The body is not the canonical form of its content.
    #[error("its bytes are not canonical: {0}")]
    Profile(ProfileFault),
}

impl ChainCheck {
    /// Starts at the first entry of `ledger`, or after `from` when the entries before it were
    /// checked elsewhere.
    pub fn new(ledger: Uuid, from: Option<Head>) -> Self {
        let mut text = [0; 36];
        ledger.hyphenated().encode_lower(&mut text);
        Self {
            head: from.unwrap_or_else(|| Head::empty(ledger)),
            ledger: text,
            strict: false,
        }
    }

    /// Also checks that each body is the canonical form of its content, within the profile.
    pub fn strict(mut self) -> Self {
        self.strict = true;
        self
    }

    /// Checks the next body and gives its hash; after a fault the state stays at the last entry
    /// that fitted.
    pub fn feed(&mut self, body: &[u8]) -> Result<Hash, Fault> {
        self.step(body).map(|_| self.head.hash)
    }

    /// Gives the state after the last entry that fitted.
    pub fn head(&self) -> &Head {
        &self.head
    }

    pub(crate) fn step<'a>(&mut self, body: &'a [u8]) -> Result<Body<'a>, Fault> {
        let read = self.fit(body).map_err(|reason| Fault {
            position: self.head.size,
            reason,
        })?;
        self.head.size += 1;
        self.head.hash = entry_hash(body);
        self.head.at = Some(read.at);
        Ok(read)
    }

    fn fit<'a>(&self, body: &'a [u8]) -> Result<Body<'a>, Reason> {
        if body.len() > MAX_BODY {
            return Err(Reason::TooLong { bytes: body.len() });
        }
        let read = Body::read(body).map_err(|member| Reason::Form { member })?;
        if read.ledger != self.ledger {
            return Err(Reason::Ledger);
        }
        if read.position != self.head.size {
            return Err(Reason::Position {
                found: read.position,
            });
        }
        if read.previous != self.head.hash.hex() {
            return Err(Reason::Previous);
        }
        if self.head.at.is_some_and(|before| read.at < before) {
            return Err(Reason::Time);
        }
        if self.strict {
            canonical::check(body).map_err(Reason::Profile)?;
        }
        Ok(read)
    }
}
