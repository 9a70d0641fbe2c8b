//! `POST /v1/cases/{case}/start`

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
use lotwarden_store::cases::StartCase;
use uuid::Uuid;

/// Starts a case that is in preparation.
#[utoipa::path(
    operation_id = "start_case", tag = "cases", request_body = Nothing,
    params(("case" = Uuid, Path, description = "The case."), Change, IdempotencyKey),
    responses((status = 200, description = "In progress.", body = Case), Refusals),
)]
#[post("/v1/cases/{case}/start")]
pub(super) async fn start_case(
    allowed: Allowed<act::StartCase>,
    app: Data<App>,
    case: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = StartCase {
        case: case.into_inner(),
        version: version.0,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, changed);
    Ok(reply(recorded.await?))
}
