//! A ledger's newest state, and how an event becomes its next entry.
use jiff::{SignedDuration, Timestamp};
use uuid::Uuid;

use crate::{
    canonical::{MAX_INTEGER, write_string},
    event::Event,
    hash::{Hash, entry_hash, genesis},
    stamp,
};

/// The longest body in bytes: what the 16-bit length prefix of an entry bundle can carry (C2SP
/// tlog-tiles).
pub const MAX_BODY: usize = 65_535;

/// How far a clock may stand behind the head before the ledger stops. Within it the entry takes
/// the head's time, so that a small correction of the clock does not stop the work.
pub const CLOCK_SKEW: SignedDuration = SignedDuration::from_secs(5);

/// A ledger's newest state.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Head {
    /// The ledger.
    pub ledger: Uuid,
    /// The number of entries, which is the position of the next one.
    pub size: u64,
    /// The hash of the last entry; of an empty ledger, the genesis.
    pub hash: Hash,
    /// The time of the last entry; none in an empty ledger.
    pub at: Option<Timestamp>,
}

/// One entry as it is stored.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Entry {
    /// Its position in the ledger, from 0 without gaps.
    pub position: u64,
    /// SHA-256(0x00 || body).
    pub hash: Hash,
    /// The canonical JSON, byte for byte as hashed.
    pub body: Vec<u8>,
    /// Its time, in whole microseconds, never before the time of the entry before.
    pub at: Timestamp,
}

/// Why an event could not become the next entry; the head is then unchanged.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AppendFault {
    /// The clock stands too far behind the last entry's time.
    #[error("the clock stands at {now}, behind the ledger's last entry at {at}")]
    ClockBehind {
        /// The clock.
        now: Timestamp,
        /// The last entry's time.
        at: Timestamp,
    },
    /// The year has no four-digit text.
    #[error("the year of the clock cannot be written in four digits")]
    Year,
    /// The body would be longer than [`MAX_BODY`].
    #[error("the entry would take {bytes} bytes; the most is {MAX_BODY}")]
    TooLong {
        /// The bytes it would take.
        bytes: usize,
    },
    /// The ledger has as many entries as canonical JSON can count.
    #[error("the ledger is full")]
    Full,
}

impl Head {
    /// Gives the head of a ledger without entries.
    pub fn empty(ledger: Uuid) -> Self {
        Self {
            ledger,
            size: 0,
            hash: genesis(),
            at: None,
        }
    }

    /// Makes the next entry and moves the head to it.
    pub fn append(&mut self, event: &Event, now: Timestamp) -> Result<Entry, AppendFault> {
        let at = self.next_at(now)?;
        if self.size > MAX_INTEGER {
            return Err(AppendFault::Full);
        }
        let body = self.body(event, &stamp::text(at).ok_or(AppendFault::Year)?);
        if body.len() > MAX_BODY {
            return Err(AppendFault::TooLong { bytes: body.len() });
        }
        let entry = Entry {
            position: self.size,
            hash: entry_hash(&body),
            body,
            at,
        };
        self.size += 1;
        self.hash = entry.hash;
        self.at = Some(at);
        Ok(entry)
    }

    fn next_at(&self, now: Timestamp) -> Result<Timestamp, AppendFault> {
        let now = stamp::to_microsecond(now);
        match self.at {
            Some(at) if at.duration_since(now) > CLOCK_SKEW => {
                Err(AppendFault::ClockBehind { now, at })
            }
            Some(at) => Ok(now.max(at)),
            None => Ok(now),
        }
    }

    fn body(&self, event: &Event, at: &[u8]) -> Vec<u8> {
        const FRAME: usize = 288;
        let station = event.station.as_deref();
        let texts = event.action.len() + event.actor.len() + event.subject.len();
        let mut out =
            Vec::with_capacity(FRAME + texts + station.map_or(0, str::len) + event.data().len());
        out.extend_from_slice(b"{\"action\":");
        write_string(&mut out, &event.action);
        out.extend_from_slice(b",\"actor\":");
        write_string(&mut out, &event.actor);
        out.extend_from_slice(b",\"at\":\"");
        out.extend_from_slice(at);
        out.extend_from_slice(b"\",\"data\":");
        out.extend_from_slice(event.data().as_bytes());
        out.extend_from_slice(b",\"ledger\":\"");
        out.extend_from_slice(
            self.ledger
                .hyphenated()
                .encode_lower(&mut Uuid::encode_buffer())
                .as_bytes(),
        );
        out.extend_from_slice(b"\",\"position\":");
        write_integer(&mut out, self.size);
        out.extend_from_slice(b",\"previous\":\"");
        out.extend_from_slice(&self.hash.hex());
        out.push(b'"');
        if let Some(station) = station {
            out.extend_from_slice(b",\"station\":");
            write_string(&mut out, station);
        }
        out.extend_from_slice(b",\"subject\":");
        write_string(&mut out, &event.subject);
        out.extend_from_slice(b",\"v\":1}");
        out
    }
}

fn write_integer(out: &mut Vec<u8>, value: u64) {
    let mut digits = [0; 20];
    let mut start = digits.len();
    let mut rest = value;
    loop {
        start -= 1;
        digits[start] = b'0' + (rest % 10) as u8;
        rest /= 10;
        if rest == 0 {
            break;
        }
    }
    out.extend_from_slice(&digits[start..]);
}
