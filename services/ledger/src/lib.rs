//! A facility's audit trail as bytes: entries, their hash chain, salted commitments, the Merkle
//! tree, parcels, and the checking of all of it. No I/O beyond `io::Read` and `io::Write`, no clock.
//!
//! # An entry
//! An entry's body is canonical JSON (RFC 8785) with exactly these members in this order, `station`
//! left out when there is none:
//!
//! | member | what |
//! |---|---|
//! | `action` | what was done, of `a-z`, `0-9`, `_` |
//! | `actor` | who did it: an id |
//! | `at` | when: RFC 3339 in UTC, six fraction digits, `Z`; never earlier than in the entry before |
//! | `data` | an object, its members depending on the action |
//! | `ledger` | the ledger's UUID |
//! | `position` | from 0, without gaps |
//! | `previous` | the hash of the entry before; at position 0 the SHA-256 of [`GENESIS_TEXT`] |
//! | `station` | the station it was done at |
//! | `subject` | what it was done to: an id |
//! | `v` | the format, 1 |
//!
//! The profile is stricter than RFC 8785's input: see [`canonical`]. An entry's hash is
//! SHA-256(0x00 || body), the leaf hash of RFC 9162, as 64 lower-case hexadecimal digits. Personal
//! values never stand in an entry; `data.commitments` holds their salted digests by name: see
//! [`commitment`]. How entries travel: see [`parcel`].
pub mod canonical;
pub mod chain;
pub mod commitment;
pub mod merkle;
pub mod parcel;

mod body;
mod cursor;
mod event;
mod hash;
mod head;
mod stamp;

pub use canonical::ProfileFault;
pub use chain::{ChainCheck, Fault, Reason};
pub use commitment::Disclosure;
pub use event::Event;
pub use hash::{GENESIS_TEXT, Hash, HashTextFault, entry_hash, genesis};
pub use head::{AppendFault, CLOCK_SKEW, Entry, Head, MAX_BODY};
