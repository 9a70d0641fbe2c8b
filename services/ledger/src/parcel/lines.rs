//! Reads a parcel line by line and keeps the digests.
use std::io::{self, BufRead, Read};

use sha2::{Digest, Sha256};

use super::ParcelFault;
use crate::hash::Hash;

/// The longest line that is read into memory.
const MAX_LINE: u64 = 16 << 20;

pub(super) struct Lines<R> {
    reader: R,
    buffer: Vec<u8>,
    number: u64,
    whole: Sha256,
    section: Option<Sha256>,
}

impl<R: BufRead> Lines<R> {
    pub(super) fn new(reader: R) -> Self {
        Self {
            reader,
            buffer: Vec::new(),
            number: 0,
            whole: Sha256::new(),
            section: None,
        }
    }

    /// Gives the next line without its line feed; none at the end, and when the line has no line
    /// feed or is too long. A line enters the digests when the next one is asked for, so that the
    /// last line can hold the digest of all before it.
    pub(super) fn next(&mut self) -> Result<Option<&[u8]>, ParcelFault> {
        self.settle();
        self.number += 1;
        Read::take(&mut self.reader, MAX_LINE)
            .read_until(b'\n', &mut self.buffer)
            .map_err(ParcelFault::Unreadable)?;
        Ok(self.buffer.strip_suffix(b"\n"))
    }

    fn settle(&mut self) {
        self.whole.update(&self.buffer);
        if let Some(section) = &mut self.section {
            section.update(&self.buffer);
        }
        self.buffer.clear();
    }

    /// Gives the number of the line last asked for, from 1.
    pub(super) fn number(&self) -> u64 {
        self.number
    }

    /// Reads the first line of a section, `<name> <count>`.
    pub(super) fn section(&mut self, name: &'static str) -> Result<u64, ParcelFault> {
        let count = self.next()?.and_then(|line| {
            let digits = line.strip_prefix(name.as_bytes())?.strip_prefix(b" ")?;
            let count: u64 = std::str::from_utf8(digits).ok()?.parse().ok()?;
            (count.to_string().as_bytes() == digits).then_some(count)
        });
        count.ok_or(ParcelFault::Line {
            line: self.number,
            due: name,
        })
    }

    /// Starts a digest at the next line.
    pub(super) fn start_digest(&mut self) {
        self.settle();
        self.section = Some(Sha256::new());
    }

    /// Gives the digest since [`start_digest`](Self::start_digest), the last line included.
    pub(super) fn end_digest(&mut self) -> Hash {
        self.settle();
        let digest = self.section.take().unwrap_or_default().finalize();
        Hash::from_bytes(digest.into())
    }

    /// Gives the digest of all lines before the last one, and checks that nothing follows it.
    pub(super) fn finish(mut self) -> io::Result<Option<Hash>> {
        let digest = Hash::from_bytes(self.whole.finalize().into());
        Ok(self.reader.fill_buf()?.is_empty().then_some(digest))
    }
}
