//! Why a parcel is not valid.
use std::io;

use crate::chain;

/// The first thing in a parcel that does not fit. No text of it holds a value from the parcel.
#[derive(Debug, thiserror::Error)]
pub enum ParcelFault {
    /// The bytes could not be read.
    #[error("the parcel cannot be read")]
    Unreadable(#[source] io::Error),
    /// The file is not a parcel of a known format.
    #[error("line {line}: this is not a lotwarden-parcel of format 1")]
    NotAParcel {
        /// The line that shows it.
        line: u64,
    },
    /// An entry does not fit.
    #[error(transparent)]
    Entry(#[from] chain::Fault),
    /// The file ends before all entries are there.
    #[error("entry {position}: it is missing; the parcel ends before it")]
    Missing {
        /// The first missing entry.
        position: u64,
    },
    /// The last entry is not the one that the header names.
    #[error(
        "entry {position}: its hash or time is not the header's; it was changed or the end cut"
    )]
    Head {
        /// The last entry.
        position: u64,
    },
    /// The last entry does not record an export.
    #[error("entry {position}: the last entry is not the export of this parcel; the end was cut")]
    NotExport {
        /// The last entry.
        position: u64,
    },
    /// The export entry binds other attachments.
    #[error(
        "entry {position}: it binds other cases, signatures, people or another facility than \
         this parcel carries"
    )]
    Attachments {
        /// The export entry.
        position: u64,
    },
    /// An entry's commitments are not digests.
    #[error("entry {position}: its commitments are not digests by name")]
    Commitments {
        /// The entry.
        position: u64,
    },
    /// A signature is not the one that an entry records.
    #[error("entry {position}: it does not record the signature in line {line}")]
    Signature {
        /// The entry that the signature names.
        position: u64,
        /// The signature's line.
        line: u64,
    },
    /// A disclosure does not re-hash to a commitment that is still open.
    #[error("entry {position}: the disclosure in line {line} is not one that it commits to")]
    Disclosure {
        /// The entry that the disclosure names.
        position: u64,
        /// The disclosure's line.
        line: u64,
    },
    /// A line is not what is due there.
    #[error("line {line}: {due} is due here")]
    Line {
        /// The line, from 1.
        line: u64,
        /// What is due.
        due: &'static str,
    },
    /// The digest in the last line is not that of the bytes before it.
    #[error("line {line}: the digest is not that of the bytes before it")]
    End {
        /// The last line.
        line: u64,
    },
}

impl ParcelFault {
    /// Gives the first entry that does not fit, when the fault lies at an entry.
    pub fn position(&self) -> Option<u64> {
        match self {
            Self::Entry(fault) => Some(fault.position),
            Self::Missing { position }
            | Self::Head { position }
            | Self::NotExport { position }
            | Self::Attachments { position }
            | Self::Commitments { position }
            | Self::Signature { position, .. }
            | Self::Disclosure { position, .. } => Some(*position),
            Self::Unreadable(_)
            | Self::NotAParcel { .. }
            | Self::Line { .. }
            | Self::End { .. } => None,
        }
    }

    /// Tells whether nothing could be checked: no bytes, or not a parcel of a known format.
    pub fn is_unreadable(&self) -> bool {
        matches!(self, Self::Unreadable(_) | Self::NotAParcel { .. })
    }
}
