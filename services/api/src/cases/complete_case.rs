//! `POST /v1/cases/{case}/complete`

use super::{Case, changed};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::Nothing;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::cases::CompleteCase;
use uuid::Uuid;

/// Completes a case that is in progress; no item goes on it from then on.
#[utoipa::path(
    operation_id = "complete_case", tag = "cases", request_body = Nothing,
    params(("case" = Uuid, Path, description = "The case."), Change, IdempotencyKey),
    responses((status = 200, description = "Completed.", body = Case), Refusals),
)]
#[post("/v1/cases/{case}/complete")]
pub(super) async fn complete_case(
    allowed: Allowed<act::CompleteCase>,
    app: Data<App>,
    case: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = CompleteCase {
        case: case.into_inner(),
        version: version.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, changed);
    Ok(reply(recorded.await?))
}
