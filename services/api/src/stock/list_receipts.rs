//! `GET /v1/receipts` and `GET /v1/receipts/{receipt}`

use super::receipt_shown::ReceiptShown;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::stock as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A receipt without its lines.
#[derive(Debug, Serialize, ToSchema)]
pub struct ReceiptSummary {
    /// The receipt.
    id: Uuid,
    /// Who took it in.
    #[schema(example = "person:019353a4-7bb0-7c3e-8f54-0b6d1c2a9e10")]
    received_by: String,
    /// When.
    #[schema(format = DateTime)]
    received_at: String,
    /// How many lines it has.
    #[schema(example = 12)]
    lines: i64,
    /// How many of them have a finding.
    #[schema(example = 1)]
    lines_with_findings: i64,
}

impl From<store::ReceiptSummary> for ReceiptSummary {
    fn from(receipt: store::ReceiptSummary) -> Self {
        Self {
            id: receipt.id,
            received_by: receipt.actor,
            received_at: instant_text(receipt.received_at),
            lines: receipt.lines,
            lines_with_findings: receipt.lines_with_findings,
        }
    }
}

/// Lists receipts in the order they were taken in.
#[utoipa::path(
    operation_id = "list_receipts", tag = "stock", params(Paging),
    responses((status = 200, description = "A page of receipts.", body = List<ReceiptSummary>), Refusals),
)]
#[get("/v1/receipts")]
pub(super) async fn list_receipts(
    allowed: Allowed<act::ListReceipts>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_receipts(&mut reading, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, ReceiptSummary::from)))
}

/// Shows a receipt with its lines.
#[utoipa::path(
    operation_id = "show_receipt", tag = "stock",
    params(("receipt" = Uuid, Path, description = "The receipt.")),
    responses((status = 200, description = "The receipt.", body = ReceiptShown), Refusals),
)]
#[get("/v1/receipts/{receipt}")]
pub(super) async fn show_receipt(
    allowed: Allowed<act::ShowReceipt>,
    app: Data<App>,
    receipt: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let receipt = store::show_receipt(&mut reading, receipt.into_inner()).await?;
    let receipt = receipt.ok_or_else(|| ApiError::no_such("receipt"))?;
    Ok(HttpResponse::Ok().json(ReceiptShown::from(&receipt)))
}
