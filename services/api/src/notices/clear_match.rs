//! `POST /v1/notices/{notice}/clear`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::MatchClass;
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::{self as store, ClearMatch, ClearMatchRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// The lot or piece that is not meant, and what was compared.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ClearBody {
    /// The lot; or else `unit_id`.
    #[serde(default)]
    lot_id: Option<Uuid>,
    /// The piece; or else `lot_id`.
    #[serde(default)]
    unit_id: Option<Uuid>,
    /// What was compared.
    #[schema(
        example = "Label read by two people: lot 0112 of another maker",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for ClearBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
        let one = self.lot_id.is_some() != self.unit_id.is_some();
        errors.require(one, "/lot_id", "give either lot_id or unit_id");
    }
}

impl From<ClearMatchRefusal> for ApiError {
    fn from(refusal: ClearMatchRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            ClearMatchRefusal::NoSuchNotice => ApiError::no_such("notice"),
            ClearMatchRefusal::NoSuchItem => {
                ApiError::fields(vec![FieldError::new("/lot_id", detail)])
            }
            ClearMatchRefusal::NotInForce => ApiError::new(&catalogue::NOTICE_STATE).detail(detail),
            ClearMatchRefusal::NotHit => ApiError::new(&catalogue::ALREADY_DONE).detail(detail),
            ClearMatchRefusal::Named | ClearMatchRefusal::NotRecorded => {
                ApiError::new(&catalogue::DIFFERS).detail(detail)
            }
        }
    }
}

/// A lot or piece that was compared and found not to be meant.
#[derive(Debug, Serialize, ToSchema)]
pub struct Clearance {
    /// The clearance.
    id: Uuid,
    /// The first notice of the matter.
    notice_id: Uuid,
    /// The lot.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    /// The piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// How it was hit: `possible` or `cannot_exclude`.
    #[schema(value_type = String, example = "possible")]
    class: MatchClass,
    /// Who cleared it.
    cleared_by: String,
    /// When.
    #[schema(format = DateTime)]
    cleared_at: String,
}

impl From<&store::Cleared> for Clearance {
    fn from(cleared: &store::Cleared) -> Self {
        Self {
            id: cleared.id,
            notice_id: cleared.notice,
            lot_id: cleared.lot,
            unit_id: cleared.unit,
            class: cleared.class,
            cleared_by: cleared.cleared_by.clone(),
            cleared_at: instant_text(cleared.cleared_at),
        }
    }
}

/// Puts on record that a lot or piece which a notice hits as `possible` or `cannot_exclude` was
/// compared and is not meant. Holds on it are lifted apart. An update of the notice asks again.
#[utoipa::path(
    operation_id = "clear_match", tag = "notices", request_body = ClearBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "Cleared.", body = Clearance), Refusals),
)]
#[post("/v1/notices/{notice}/clear")]
pub(super) async fn clear_match(
    allowed: Allowed<act::ClearMatch>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<ClearBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = ClearMatch {
        notice: notice.into_inner(),
        lot: keyed.body.lot_id,
        unit: keyed.body.unit_id,
        reason: keyed.body.reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |cleared, receipt| {
            render(
                StatusCode::CREATED,
                &Clearance::from(cleared),
                receipt,
                None,
            )
        },
    );
    Ok(reply(recorded.await?))
}
