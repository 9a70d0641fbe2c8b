//! What a scan brings and what it comes to.

use jiff::Timestamp;
use lotwarden_domain::cases::{Disposition, Verdict};
use lotwarden_domain::label::{Circumstances, Label, UnreadLabel};
use lotwarden_domain::rules::Finding;
use uuid::Uuid;

/// One reading of one label, on its way to a case.
#[derive(Clone, Debug)]
pub struct NewScan {
    /// The case.
    pub case: Uuid,
    /// The characters as the scanner sent them.
    pub text: String,
    /// The symbology identifier, when it came apart from the characters (ISO/IEC 15424).
    pub symbology: Option<String>,
    /// When it was scanned by the station's clock; none means now.
    pub occurred_at: Option<Timestamp>,
    /// For a scan that its station held: the session of who was signed in there.
    pub held_session: Option<Uuid>,
    /// For a scan that its station held: seconds that the station's clock was ahead of the service's
    /// when it was delivered; negative when it was behind.
    pub clock_ahead: Option<i64>,
    /// The person confirmed a further piece of a lot that is on the case already.
    pub another_piece: bool,
}

impl NewScan {
    /// What the characters say, the symbology identifier before them where it came apart.
    pub(crate) fn read(&self, circumstances: Circumstances) -> Result<Label, UnreadLabel> {
        match &self.symbology {
            Some(symbology) if !self.text.starts_with(']') => {
                let read = Label::read(&format!("{symbology}{}", self.text), circumstances);
                read.map_err(|mut unread| {
                    unread.at = unread.at.saturating_sub(symbology.len());
                    unread
                })
            }
            _ => Label::read(&self.text, circumstances),
        }
    }
}

/// What one scan came to.
#[derive(Clone, Debug)]
pub struct ScanOutcome {
    /// The scan.
    pub id: Uuid,
    /// The case.
    pub case: Uuid,
    /// The station.
    pub station: Option<Uuid>,
    /// When it was scanned.
    pub occurred_at: Timestamp,
    /// When it reached the service.
    pub received_at: Timestamp,
    /// Whether its station held it and delivered it later.
    pub delivered_late: bool,
    /// The verdict.
    pub verdict: Verdict,
    /// Every finding, worst first.
    pub findings: Vec<Finding>,
    /// What was read; or why nothing was.
    pub label: Result<Label, UnreadLabel>,
    /// The product, its name and whether the catalogue describes it.
    pub product: Option<(Uuid, String)>,
    /// The lot.
    pub lot: Option<Uuid>,
    /// The serialised piece.
    pub unit: Option<Uuid>,
    /// What it put on the case.
    pub placed: Option<UsePlaced>,
    /// The first scan of the same label on this case, for a repeated reading.
    pub first_scan: Option<Uuid>,
}

/// An item on a case.
#[derive(Clone, Copy, Debug)]
pub struct UsePlaced {
    /// What became of it so far.
    pub disposition: Disposition,
    /// The place whose stock it left.
    pub drawn_from: Option<Uuid>,
}

/// Why a request is no scan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ScanRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// There is no such station.
    #[error("there is no such station")]
    NoSuchStation,
    /// The station's clock is ahead, or the scan is older than a station may hold one.
    #[error("occurred_at is in the future or more than 72 hours ago")]
    OccurredOutOfRange,
}
