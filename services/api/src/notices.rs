//! Recall notices: taken in, confirmed by a person, and matched from then on.

mod add_notice;
mod clear_match;
mod confirm_notice;
mod end_notice;
mod list_matches;
mod list_notices;
mod mock_recall;
mod policy;
mod proposed;
mod work;

use lotwarden_domain::import::{NoticeStatus, RecallClass};
use lotwarden_domain::notices::{NoticeSource, NoticeState};
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices as store;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_notice::add_notice)
        .service(list_notices::list_notices)
        .service(list_notices::show_notice)
        .service(confirm_notice::confirm_notice)
        .service(list_matches::list_matches)
        .service(clear_match::clear_match)
        .service(end_notice::end_notice)
        .service(mock_recall::mock_recall)
        .service(policy::show_notice_policy)
        .service(policy::change_notice_policy)
        .configure(work::routes);
}

/// A recall notice as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Notice {
    /// The notice.
    id: Uuid,
    /// The first notice of the matter, for an update.
    #[serde(skip_serializing_if = "Option::is_none")]
    root_id: Option<Uuid>,
    /// Counts the notices of the matter, from 1.
    #[schema(example = 1)]
    revision: i32,
    /// Who recalls.
    #[schema(example = "Example Instruments, Inc.")]
    firm: String,
    /// The firm's or the authority's reference number.
    #[schema(example = "FSN-2026-014")]
    reference: String,
    /// How grave it is, `I`, `II` or `III` (21 CFR 7.3(m)); none while nobody has said.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "II")]
    class: Option<RecallClass>,
    /// How it came: `letter`, `mail`, `telephone`, `distributor` or `feed`.
    #[schema(value_type = String, example = "letter")]
    source: NoticeSource,
    /// How far the firm is: `pending`, `ongoing`, `completed` or `terminated`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "ongoing")]
    status: Option<NoticeStatus>,
    /// The day it came.
    #[schema(format = Date)]
    received_on: String,
    /// The product in the notice's words.
    product: String,
    /// Why it was sent.
    reason: String,
    /// Codes of products that came beside the text, as written.
    also_named: Vec<String>,
    /// Who took it in.
    added_by: String,
    /// When it was taken in.
    #[schema(format = DateTime)]
    added_at: String,
    /// How far the site is: `unconfirmed`, `open`, `closed` or `withdrawn`.
    #[schema(value_type = String, example = "unconfirmed")]
    state: NoticeState,
    /// Who confirmed what it names.
    #[serde(skip_serializing_if = "Option::is_none")]
    confirmed: Option<Done>,
    /// Who put it on record as withdrawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    withdrawn: Option<Done>,
    /// The day the authority ended it; what it names stays barred.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = Date)]
    terminated_on: Option<String>,
    /// Why it ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    end_reason: Option<String>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// Who did something, and when.
#[derive(Debug, Serialize, ToSchema)]
#[schema(as = NoticeDone)]
pub struct Done {
    /// Who.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

impl Done {
    fn of(done: Option<&(String, jiff::Timestamp)>) -> Option<Self> {
        done.map(|(by, at)| Self {
            by: by.clone(),
            at: instant_text(*at),
        })
    }
}

impl From<&store::Notice> for Notice {
    fn from(notice: &store::Notice) -> Self {
        Self {
            id: notice.id,
            root_id: (notice.root != notice.id).then_some(notice.root),
            revision: notice.revision,
            firm: notice.firm.clone(),
            reference: notice.reference.clone(),
            class: notice.class,
            source: notice.source,
            status: notice.status,
            received_on: notice.received_on.to_string(),
            product: notice.product.clone(),
            reason: notice.reason.clone(),
            also_named: notice.also_named.clone(),
            added_by: notice.added_by.clone(),
            added_at: instant_text(notice.added_at),
            state: notice.state,
            confirmed: Done::of(notice.confirmed.as_ref()),
            withdrawn: Done::of(notice.withdrawn.as_ref()),
            terminated_on: notice.terminated_on.map(|day| day.to_string()),
            end_reason: notice.end_reason.clone(),
            version: notice.version,
        }
    }
}
