//! Recall notices: taken in as they arrive, confirmed by a person, matched from then on.
//!
//! What a confirmed notice hits is computed from its criteria and the catalogue each time, never
//! kept: so a lot, piece, product or identifier that comes to be known later meets it too.

mod add_notice;
mod clear_match;
mod confirm_notice;
mod criteria;
mod end_notice;
mod holding;
mod import_notices;
mod list_matches;
mod list_notices;
mod matching;
mod mock_recall;
mod policy;
mod proposals;
mod told;
pub(crate) mod watch;
pub mod work;

pub use add_notice::{AddNotice, AddNoticeRefusal, NewNotice};
pub use clear_match::{ClearMatch, ClearMatchRefusal, Cleared};
pub use confirm_notice::{ConfirmNotice, ConfirmNoticeRefusal, Confirmed};
pub use criteria::{Criterion, NamedBy, NewCriterion};
pub use end_notice::{EndNotice, EndNoticeRefusal};
pub(crate) use holding::hold_received;
pub use import_notices::{ImportNotices, ImportNoticesRefusal, ImportedNotices, MOST_NOTICES};
pub use list_matches::{ListMatches, ListMatchesRefusal, MatchList};
pub use list_notices::{NoticeFilter, NoticeShown, Revision, list, show};
pub use matching::{
    ItemMatched, LotMatched, MatchCounts, Matches, OnHandMatched, ProductMatched, ReceiptMatched,
    StoppedMatched,
};
pub use mock_recall::{MockRecall, MockRecallRefusal, Rehearsed};
pub(crate) use policy::desk_policy;
pub use policy::{ChangeNoticePolicy, ChangeNoticePolicyRefusal, NoticeSettings, show_settings};

/// Characters of a notice's text at most.
pub const MOST_TEXT: usize = 1_000_000;

use crate::database::StoreError;
use crate::schema::notices;
use diesel::prelude::*;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::import::{NoticeStatus, RecallClass};
use lotwarden_domain::notices::{NoticeSource, NoticeState};
use uuid::Uuid;

/// A notice as it stands.
#[derive(Clone, Debug)]
pub struct Notice {
    /// The notice.
    pub id: Uuid,
    /// The first notice of the matter; itself unless this is an update.
    pub root: Uuid,
    /// Counts the notices of the matter, from 1.
    pub revision: i32,
    /// Who recalls.
    pub firm: String,
    /// The firm's or the authority's reference number.
    pub reference: String,
    /// How grave it is; none while nobody has said.
    pub class: Option<RecallClass>,
    /// How it came.
    pub source: NoticeSource,
    /// How far the firm is.
    pub status: Option<NoticeStatus>,
    /// The day it came.
    pub received_on: Date,
    /// The product in the notice's words.
    pub product: String,
    /// Why it was sent.
    pub reason: String,
    /// Codes of products that came beside the text, as written.
    pub also_named: Vec<String>,
    /// Who took it in, as the ledger writes it.
    pub added_by: String,
    /// When it was taken in.
    pub added_at: Timestamp,
    /// How far the site is.
    pub state: NoticeState,
    /// Who confirmed what it names, and when.
    pub confirmed: Option<(String, Timestamp)>,
    /// Who put it on record as withdrawn, and when.
    pub withdrawn: Option<(String, Timestamp)>,
    /// The day the authority ended it.
    pub terminated_on: Option<Date>,
    /// Why it ended.
    pub end_reason: Option<String>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

#[derive(Clone, Queryable, Selectable)]
#[diesel(table_name = notices)]
pub(crate) struct NoticeRow {
    id: Uuid,
    root_id: Uuid,
    revision: i32,
    firm: String,
    reference: String,
    class: Option<String>,
    source: String,
    status: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    received_on: Date,
    product: String,
    reason: String,
    also_named: Vec<String>,
    added_by: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    added_at: Timestamp,
    state: String,
    confirmed_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    confirmed_at: jiff_diesel::NullableTimestamp,
    withdrawn_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    withdrawn_at: jiff_diesel::NullableTimestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableDate)]
    terminated_on: jiff_diesel::NullableDate,
    end_reason: Option<String>,
    version: i32,
}

impl TryFrom<NoticeRow> for Notice {
    type Error = StoreError;

    fn try_from(row: NoticeRow) -> Result<Self, StoreError> {
        let class = row.class.map(|class| class.parse()).transpose();
        let status = row.status.map(|status| status.parse()).transpose();
        Ok(Self {
            id: row.id,
            root: row.root_id,
            revision: row.revision,
            firm: row.firm,
            reference: row.reference,
            class: class.map_err(|_| StoreError::Unfit)?,
            source: row.source.parse().map_err(|_| StoreError::Unfit)?,
            status: status.map_err(|_| StoreError::Unfit)?,
            received_on: row.received_on,
            product: row.product,
            reason: row.reason,
            also_named: row.also_named,
            added_by: row.added_by,
            added_at: row.added_at,
            state: row.state.parse().map_err(|_| StoreError::Unfit)?,
            confirmed: row.confirmed_by.zip(row.confirmed_at.to_jiff()),
            withdrawn: row.withdrawn_by.zip(row.withdrawn_at.to_jiff()),
            terminated_on: row.terminated_on.to_jiff(),
            end_reason: row.end_reason,
            version: row.version,
        })
    }
}
