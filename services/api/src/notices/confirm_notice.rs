//! `POST /v1/notices/{notice}/confirm`

mod body;

use super::Notice;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
pub use body::ConfirmBody;
use lotwarden_domain::access::act;
use lotwarden_store::notices::{self as store, ConfirmNotice, ConfirmNoticeRefusal};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A notice as it was confirmed, and what it hits.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeConfirmed {
    /// The notice.
    #[serde(flatten)]
    notice: Notice,
    /// What the whole matter hits now.
    counts: MatchCounts,
    /// Holds that were placed on stock now.
    held: usize,
}

/// What a notice hits, in numbers.
#[derive(Debug, Serialize, ToSchema)]
pub struct MatchCounts {
    /// Items on cases that are named as they stand.
    affected: usize,
    /// Items on cases that are named but for case, spaces and leading zeros, or by a catalogue
    /// number alone; a person compares them.
    possible: usize,
    /// Items on cases whose record does not leave them out; they count as affected.
    cannot_exclude: usize,
    /// Cases with any of them.
    cases: usize,
    /// Those of the cases that are not over.
    open_cases: usize,
    /// Patients of the cases.
    patients: usize,
    /// Units of use on shelves.
    on_hand: i64,
}

impl From<store::MatchCounts> for MatchCounts {
    fn from(counts: store::MatchCounts) -> Self {
        Self {
            affected: counts.affected,
            possible: counts.possible,
            cannot_exclude: counts.cannot_exclude,
            cases: counts.cases,
            open_cases: counts.open_cases,
            patients: counts.patients,
            on_hand: counts.on_hand,
        }
    }
}

impl From<ConfirmNoticeRefusal> for ApiError {
    fn from(refusal: ConfirmNoticeRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            ConfirmNoticeRefusal::NoSuchNotice => ApiError::no_such("notice"),
            ConfirmNoticeRefusal::Stale => ApiError::new(&catalogue::STALE),
            ConfirmNoticeRefusal::NotUnconfirmed | ConfirmNoticeRefusal::RootNotInForce => {
                ApiError::new(&catalogue::NOTICE_STATE).detail(detail)
            }
            ConfirmNoticeRefusal::NoSuchProduct { criterion } => {
                let pointer = format!("/criteria/{criterion}/product_ids");
                ApiError::fields(vec![FieldError::new(pointer, detail)])
            }
        }
    }
}

/// Confirms what a notice names. In the same commit everything it hits is found and its stock is
/// held; every receipt and scan after it meets the notice.
#[utoipa::path(
    operation_id = "confirm_notice", tag = "notices", request_body = ConfirmBody,
    params(("notice" = Uuid, Path, description = "The notice."), Change, IdempotencyKey),
    responses((status = 200, description = "In force.", body = NoticeConfirmed), Refusals),
)]
#[post("/v1/notices/{notice}/confirm")]
pub(super) async fn confirm_notice(
    allowed: Allowed<act::ConfirmNotice>,
    app: Data<App>,
    notice: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<ConfirmBody>,
) -> Result<HttpResponse, ApiError> {
    let today = app.recorder.clock().now();
    let today = today.to_zoned(jiff::tz::TimeZone::UTC).date();
    let open = !keyed.body.settles_unread;
    let operation = ConfirmNotice {
        id: notice.into_inner(),
        version: version.0,
        criteria: keyed.body.criteria(today)?,
        open,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |confirmed, receipt| {
            let answer = NoticeConfirmed {
                notice: Notice::from(&confirmed.notice),
                counts: confirmed.counts.into(),
                held: confirmed.held,
            };
            let version = confirmed.notice.version;
            render(StatusCode::OK, &answer, receipt, Some(version))
        },
    );
    Ok(reply(recorded.await?))
}
