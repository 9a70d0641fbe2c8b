//! A parcel: one file that carries a ledger's entries with what they refer to, and that any
//! language can check without the service.
//!
//! # Format
//! UTF-8 text of lines, each ended by one line feed (0x0A); a line of JSON is one canonical object
//! (see [`canonical`](crate::canonical)).
//!
//! ```text
//! lotwarden-parcel 1
//! {"entries":N,"exported_at":"...","facility":"...","from":P,"head":"...","ledger":"...","previous":"..."}
//! entries N
//!   N lines, each exactly one entry's body, positions P to P+N-1
//! cases N
//!   N lines, each one case
//! signatures N
//!   N lines {"case","id","meaning","name","person","position","record_hash","signed_at"}
//! people N
//!   N lines, each one person who acted
//! disclosures N
//!   N lines {"name","position","salt","value"}
//! end <SHA-256 of all bytes before this line, in hexadecimal>
//! ```
//!
//! # What must hold
//! 1. The entries chain: the first has position `from` and `previous` as the header gives them
//!    (position 0: the SHA-256 of [`GENESIS_TEXT`](crate::GENESIS_TEXT)); each further one has the
//!    next position, as `previous` the hash of the line before, the header's `ledger`, and a time
//!    not earlier. The last one's hash is the header's `head` and its time the header's
//!    `exported_at`.
//! 2. The last entry has the action `export_parcel`; its `data.attachments` is the SHA-256 over the
//!    bytes of the sections `cases`, `signatures` and `people`, their first lines included;
//!    `data.cases`, `data.signatures` and `data.people` are their counts and `data.facility` the
//!    header's. So these are bound to the chain.
//! 3. Each signature's `position` is that of an entry `sign_case` whose data has `signature` equal
//!    to its `id`, and the same `record_hash`, `meaning` and `name`; whose `actor` is `person:` and
//!    its `person`, `subject` is `case:` and its `case`, and `at` is its `signed_at`.
//! 4. Each disclosure re-hashes to `data.commitments.<name>` of the entry at its position:
//!    base64url(SHA-256(base64url(`["salt","name","value"]`))), no padding. Commitments without a
//!    disclosure are withheld; that is no fault.
//!
//! A chain alone does not show that its newest entries were cut or that all of it was written anew:
//! compare `head`, or the hash of any later entry, with a receipt kept elsewhere.
//!
//! # By hand
//! In a parcel that starts at position 0, the entry at position p stands in line p+4:
//!
//! ```text
//! { printf '\0'; sed -n "$((p+4))p" FILE | tr -d '\n'; } | sha256sum    its hash
//! sed -n "$((p+5))p" FILE | grep -o '"previous":"[0-9a-f]*"'           the link of the next
//! sed -n '/^cases [0-9]*$/,/^disclosures [0-9]*$/p' FILE | sed '$d' | sha256sum   attachments
//! sed '$d' FILE | sha256sum                                            the last line
//! ```
mod attachments;
mod evidence;
mod fault;
mod lines;
mod verify;
mod writer;

use jiff::Timestamp;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::{hash::Hash, head::Head, stamp};

pub use attachments::{Attachments, ExportData, SignatureLine};
pub use fault::ParcelFault;
pub use verify::{Report, verify};
pub use writer::{DisclosureWriter, ParcelWriter, WriteFault};

/// The first line of a parcel.
pub const FIRST_LINE: &str = "lotwarden-parcel 1";

/// The action of the entry that ends a parcel.
pub const EXPORT_ACTION: &str = "export_parcel";

/// The action of an entry that records a signature.
pub const SIGN_ACTION: &str = "sign_case";

const END: &str = "end ";

/// The second line of a parcel. All of it follows from the entries, but the facility, which the
/// export entry repeats.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Header {
    pub(crate) entries: u64,
    #[serde(with = "stamp")]
    pub(crate) exported_at: Timestamp,
    pub(crate) facility: String,
    pub(crate) from: u64,
    pub(crate) head: Hash,
    pub(crate) ledger: Uuid,
    pub(crate) previous: Hash,
}

impl Header {
    /// Describes the entries after `from` (for a whole ledger, [`Head::empty`]) up to the export
    /// entry that made `to`; none when there is no entry between them.
    pub fn new(facility: impl Into<String>, from: &Head, to: &Head) -> Option<Self> {
        Some(Self {
            entries: to.size.checked_sub(from.size).filter(|count| *count > 0)?,
            exported_at: to.at?,
            facility: facility.into(),
            from: from.size,
            head: to.hash,
            ledger: to.ledger,
            previous: from.hash,
        })
    }
}

/// Reads one line of a fixed form; none when it is not exactly what this crate would write.
fn read_line<'de, T: Serialize + Deserialize<'de>>(line: &'de [u8]) -> Option<T> {
    let read: T = serde_json::from_slice(line).ok()?;
    let again = crate::canonical::to_string(&read).ok()?;
    (again.as_bytes() == line).then_some(read)
}
