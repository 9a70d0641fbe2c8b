//! `PUT /v1/cases/{case}/scans/{scan}/disposition`

use super::scan::Scan;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Disposition;
use lotwarden_store::cases::{SetDisposition, SetDispositionRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What became of an item.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DispositionBody {
    /// `used`, `wasted`, `opened_unused`, `returned` or `failed`.
    #[schema(value_type = String, example = "wasted", pattern = "^(used|wasted|opened_unused|returned|failed)$")]
    disposition: Disposition,
    /// Why; required for `wasted` and `failed`, never a patient's identity.
    #[schema(example = "Dropped before use", min_length = 3, max_length = 500)]
    reason: Option<String>,
}

impl Checked for DispositionBody {
    fn check(&self, errors: &mut Fields) {
        let explained = matches!(self.disposition, Disposition::Wasted | Disposition::Failed);
        match &self.reason {
            Some(reason) => errors.text("/reason", reason, 3, 500),
            None => errors.require(
                !explained,
                "/reason",
                "must say why it was wasted or failed",
            ),
        }
    }
}

impl From<SetDispositionRefusal> for ApiError {
    fn from(refusal: SetDispositionRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            SetDispositionRefusal::NoSuchUse => ApiError::no_such("item on this case"),
            SetDispositionRefusal::Struck => because(&catalogue::ALREADY_DONE),
            SetDispositionRefusal::CaseSigned => ApiError::new(&catalogue::CASE_SIGNED),
            SetDispositionRefusal::Stale => ApiError::new(&catalogue::STALE),
            SetDispositionRefusal::ClaimedElsewhere | SetDispositionRefusal::NoneLeft => {
                because(&catalogue::NOT_ON_SHELF)
            }
        }
    }
}

/// Says what became of the item that a scan put on a case. `returned` means back on the shelf with
/// its pack intact: the piece is free and in stock again. `If-Match` names the item's version; the
/// case counts a change, so its ETag is another one.
#[utoipa::path(
    operation_id = "set_disposition", tag = "cases", request_body = DispositionBody,
    params(
        ("case" = Uuid, Path, description = "The case."),
        ("scan" = Uuid, Path, description = "The scan."),
        Change, IdempotencyKey,
    ),
    responses((status = 200, description = "Set.", body = Scan), Refusals),
)]
#[put("/v1/cases/{case}/scans/{scan}/disposition")]
pub(super) async fn set_disposition(
    allowed: Allowed<act::SetDisposition>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    version: IfMatch,
    keyed: Keyed<DispositionBody>,
) -> Result<HttpResponse, ApiError> {
    let (case, scan) = path.into_inner();
    let operation = SetDisposition {
        case,
        scan,
        disposition: keyed.body.disposition,
        reason: keyed.body.reason,
        version: version.0,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |scan, receipt| {
                let version = scan.on_case.as_ref().map(|item| item.version);
                render(StatusCode::OK, &Scan::from(scan), receipt, version)
            });
    Ok(reply(recorded.await?))
}
