//! What the entries say about signatures and personal values, kept for the sections after them.
use std::collections::{BTreeMap, HashMap};

use jiff::Timestamp;
use serde::Deserialize;

use super::{SIGN_ACTION, SignatureLine};
use crate::{
    body::Body,
    commitment::{Disclosure, read_digest},
    cursor::find,
    hash::Hash,
};

/// Open commitments and signatures by position. A commitment takes 48 bytes, so that a ledger of
/// millions of entries can be checked on a small machine.
#[derive(Default)]
pub(super) struct Evidence {
    names: HashMap<String, u32>,
    commitments: Vec<Commitment>,
    signatures: HashMap<u64, Signature>,
    disclosed: u64,
}

struct Commitment {
    position: u64,
    name: u32,
    open: bool,
    digest: Hash,
}

/// What an entry says of the signature it records.
struct Signature {
    actor: Vec<u8>,
    at: Timestamp,
    subject: Vec<u8>,
    data: SignatureData,
}

#[derive(Deserialize)]
struct SignatureData {
    meaning: String,
    name: String,
    record_hash: Hash,
    signature: String,
}

impl Evidence {
    /// Notes what an entry, already known to be canonical, commits to; none when its commitments
    /// are not digests by name.
    pub(super) fn note(&mut self, body: &Body<'_>) -> Option<()> {
        if let Some(commitments) = find(body.data, b"commitments") {
            let digests: BTreeMap<&str, &str> = serde_json::from_slice(commitments).ok()?;
            for (name, digest) in digests {
                let digest = read_digest(digest)?;
                let name = self.number(name);
                self.commitments.push(Commitment {
                    position: body.position,
                    name,
                    open: true,
                    digest,
                });
            }
        }
        if body.action == SIGN_ACTION.as_bytes()
            && let Ok(data) = serde_json::from_slice(body.data)
        {
            let signature = Signature {
                actor: body.actor.to_owned(),
                at: body.at,
                subject: body.subject.to_owned(),
                data,
            };
            self.signatures.insert(body.position, signature);
        }
        Some(())
    }

    fn number(&mut self, name: &str) -> u32 {
        if let Some(number) = self.names.get(name) {
            return *number;
        }
        let number = u32::try_from(self.names.len()).unwrap_or(u32::MAX);
        self.names.insert(name.to_owned(), number);
        number
    }

    /// Tells whether the entry at the signature's position records it; each entry records one.
    pub(super) fn take_signature(&mut self, line: &SignatureLine) -> bool {
        self.signatures.remove(&line.position).is_some_and(|entry| {
            let data = &entry.data;
            data.signature == line.id
                && data.record_hash == line.record_hash
                && data.meaning == line.meaning
                && data.name == line.name
                && entry.actor == format!("person:{}", line.person).into_bytes()
                && entry.subject == format!("case:{}", line.case).into_bytes()
                && entry.at == line.signed_at
        })
    }

    /// Tells whether the entry at `position` commits to the disclosure; each commitment is
    /// disclosed once.
    pub(super) fn take_disclosure(&mut self, position: u64, disclosure: &Disclosure) -> bool {
        let Some(name) = self.names.get(&disclosure.name) else {
            return false;
        };
        let digest = read_digest(&disclosure.digest());
        let first = self
            .commitments
            .partition_point(|commitment| commitment.position < position);
        let open = self.commitments[first..]
            .iter_mut()
            .take_while(|commitment| commitment.position == position)
            .find(|commitment| commitment.name == *name && commitment.open)
            .filter(|commitment| Some(commitment.digest) == digest);
        open.is_some_and(|commitment| {
            commitment.open = false;
            self.disclosed += 1;
            true
        })
    }

    pub(super) fn disclosed(&self) -> u64 {
        self.disclosed
    }

    pub(super) fn withheld(&self) -> u64 {
        self.commitments.len() as u64 - self.disclosed
    }
}
