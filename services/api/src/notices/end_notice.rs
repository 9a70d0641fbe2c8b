//! `POST /v1/notices/{notice}/end`

use super::Notice;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::NoticeEnd;
use lotwarden_store::notices::{EndNotice, EndNoticeRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// How a notice ended.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EndBody {
    /// `withdrawn`: it stops nothing any more. `terminated`: the authority ended it (21 CFR 7.55),
    /// and what it names stays barred.
    #[schema(value_type = String, example = "terminated", pattern = "^(withdrawn|terminated)$")]
    end: NoticeEnd,
    /// The day; today unless told.
    #[serde(default)]
    #[schema(value_type = Option<String>, format = Date)]
    on: Option<Date>,
    /// Why.
    #[schema(
        example = "Letter of termination of 3 November filed",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for EndBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
        errors.day("/on", self.on);
    }
}

impl From<EndNoticeRefusal> for ApiError {
    fn from(refusal: EndNoticeRefusal) -> Self {
        match refusal {
            EndNoticeRefusal::NoSuchNotice => ApiError::no_such("notice"),
            EndNoticeRefusal::Stale => ApiError::new(&catalogue::STALE),
            EndNoticeRefusal::EndedAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Puts on record that a notice was withdrawn, or that its authority terminated it. The holds it
/// placed stay until a person lifts them.
#[utoipa::path(
    operation_id = "end_notice", tag = "notices", request_body = EndBody,
    params(("notice" = Uuid, Path, description = "The notice."), Change, IdempotencyKey),
    responses((status = 200, description = "On record.", body = Notice), Refusals),
)]
#[post("/v1/notices/{notice}/end")]
pub(super) async fn end_notice(
    allowed: Allowed<act::EndNotice>,
    app: Data<App>,
    notice: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<EndBody>,
) -> Result<HttpResponse, ApiError> {
    let EndBody { end, on, reason } = keyed.body;
    let operation = EndNotice {
        id: notice.into_inner(),
        version: version.0,
        end,
        on,
        reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |notice, receipt| {
            let version = Some(notice.version);
            render(StatusCode::OK, &Notice::from(notice), receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
