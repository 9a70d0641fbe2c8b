//! `GET /v1/cases/{case}/chart-bundle`

use super::{fhir, identified};
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Gives the record of a case for a chart as a Bundle of HL7 FHIR R4. The patient stands in it by
/// record number and day of birth. Each copy is a ledger entry, which holds no identity.
#[utoipa::path(
    operation_id = "show_chart_bundle", tag = "documents",
    params(("case" = Uuid, Path, description = "The case.")),
    responses(
        (status = 200, description = "The Bundle.", body = serde_json::Value, content_type = "application/fhir+json"),
        Refusals,
    ),
)]
#[get("/v1/cases/{case}/chart-bundle")]
pub(super) async fn show_chart_bundle(
    allowed: Allowed<act::ShowChartBundle>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let kind = ("application/fhir+json", "chart-bundle.json");
    identified(allowed, &app, case.into_inner(), kind, |found, receipt| {
        Ok(fhir::bundle(found, receipt).to_string().into_bytes())
    })
    .await
}
