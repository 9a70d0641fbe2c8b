//! Writes a parcel in one pass.
use std::io::{self, Write};

use sha2::{Digest, Sha256};

use super::{Attachments, END, FIRST_LINE, Header};
use crate::{
    canonical::{self, ProfileFault},
    commitment::{Disclosure, DisclosureLine},
    hash::Hash,
};

/// Why a parcel could not be written.
#[derive(Debug, thiserror::Error)]
pub enum WriteFault {
    /// The bytes could not be written.
    #[error("the parcel cannot be written")]
    Unwritable(#[from] io::Error),
    /// A line is outside the profile.
    #[error("a line of the parcel is not canonical JSON: {0}")]
    Profile(#[from] ProfileFault),
    /// More or fewer lines were given than announced.
    #[error("the parcel has other {section} than announced; {left} are missing or one too many")]
    Count {
        /// The section.
        section: &'static str,
        /// How many were still due.
        left: u64,
    },
}

/// Writes the header and the entries. The attachments are rendered first, then the export entry
/// that binds them is appended to the ledger, then this writes all entries up to that one.
#[derive(Debug)]
pub struct ParcelWriter<W: Write> {
    out: Hashing<W>,
    left: u64,
}

/// Writes the disclosures and the end of a parcel.
#[derive(Debug)]
pub struct DisclosureWriter<W: Write> {
    out: Hashing<W>,
    left: u64,
}

#[derive(Debug)]
struct Hashing<W> {
    out: W,
    digest: Sha256,
}

impl<W: Write> Hashing<W> {
    fn line(&mut self, line: &[u8]) -> io::Result<()> {
        self.text(line)?;
        self.text(b"\n")
    }

    fn text(&mut self, text: &[u8]) -> io::Result<()> {
        self.digest.update(text);
        self.out.write_all(text)
    }
}

fn count(left: &mut u64, section: &'static str) -> Result<(), WriteFault> {
    let fewer = left.checked_sub(1);
    *left = fewer.ok_or(WriteFault::Count { section, left: 0 })?;
    Ok(())
}

fn complete(left: u64, section: &'static str) -> Result<(), WriteFault> {
    if left == 0 {
        Ok(())
    } else {
        Err(WriteFault::Count { section, left })
    }
}

impl<W: Write> ParcelWriter<W> {
    /// Writes the header to `out`, which should be buffered.
    pub fn new(out: W, header: &Header) -> Result<Self, WriteFault> {
        let digest = Sha256::new();
        let mut out = Hashing { out, digest };
        out.line(FIRST_LINE.as_bytes())?;
        out.line(canonical::to_string(header)?.as_bytes())?;
        out.line(format!("entries {}", header.entries).as_bytes())?;
        let left = header.entries;
        Ok(Self { out, left })
    }

    /// Writes the next entry, byte for byte as stored.
    pub fn entry(&mut self, body: &[u8]) -> Result<(), WriteFault> {
        count(&mut self.left, "entries")?;
        Ok(self.out.line(body)?)
    }

    /// Writes the attachments and announces the number of disclosures, once all entries are there.
    pub fn attachments(
        mut self,
        attachments: &Attachments,
        disclosures: u64,
    ) -> Result<DisclosureWriter<W>, WriteFault> {
        complete(self.left, "entries")?;
        self.out.text(attachments.text().as_bytes())?;
        self.out
            .line(format!("disclosures {disclosures}").as_bytes())?;
        Ok(DisclosureWriter {
            out: self.out,
            left: disclosures,
        })
    }
}

impl<W: Write> DisclosureWriter<W> {
    /// Writes a value that the entry at `position` commits to.
    pub fn disclosure(&mut self, position: u64, disclosure: &Disclosure) -> Result<(), WriteFault> {
        count(&mut self.left, "disclosures")?;
        let line = canonical::to_string(&DisclosureLine::new(position, disclosure))?;
        Ok(self.out.line(line.as_bytes())?)
    }

    /// Writes the last line, flushes, and gives the output back.
    pub fn finish(self) -> Result<W, WriteFault> {
        complete(self.left, "disclosures")?;
        let Hashing { mut out, digest } = self.out;
        let digest = Hash::from_bytes(digest.finalize().into());
        writeln!(out, "{END}{digest}")?;
        out.flush()?;
        Ok(out)
    }
}
