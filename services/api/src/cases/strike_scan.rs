//! `POST /v1/cases/{case}/scans/{scan}/strike`

use super::scan::Scan;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::cases::{StrikeScan, StrikeScanRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Why a scan is taken back.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrikeBody {
    /// Why; never a patient's identity.
    #[schema(
        example = "Scanned on the wrong case",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
}

impl Checked for StrikeBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<StrikeScanRefusal> for ApiError {
    fn from(refusal: StrikeScanRefusal) -> Self {
        match refusal {
            StrikeScanRefusal::NoSuchScan => ApiError::no_such("scan"),
            StrikeScanRefusal::StruckAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
            StrikeScanRefusal::CaseSigned => ApiError::new(&catalogue::CASE_SIGNED),
        }
    }
}

/// Takes a scan back with a reason. It stays visible; what it put on the case comes off, and the
/// piece is free and in stock again. The case counts a change, so its ETag is another one.
#[utoipa::path(
    operation_id = "strike_scan", tag = "cases", request_body = StrikeBody,
    params(
        ("case" = Uuid, Path, description = "The case."),
        ("scan" = Uuid, Path, description = "The scan."),
        IdempotencyKey,
    ),
    responses((status = 200, description = "Struck.", body = Scan), Refusals),
)]
#[post("/v1/cases/{case}/scans/{scan}/strike")]
pub(super) async fn strike_scan(
    allowed: Allowed<act::StrikeScan>,
    app: Data<App>,
    path: Path<(Uuid, Uuid)>,
    keyed: Keyed<StrikeBody>,
) -> Result<HttpResponse, ApiError> {
    let (case, scan) = path.into_inner();
    let operation = StrikeScan {
        case,
        scan,
        reason: keyed.body.reason,
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |scan, receipt| {
                let version = scan.on_case.as_ref().map(|item| item.version);
                render(StatusCode::OK, &Scan::from(scan), receipt, version)
            });
    Ok(reply(recorded.await?))
}
