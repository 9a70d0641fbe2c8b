//! `POST /v1/receipts`

use super::receipt_body::ReceiptBody;
use super::receipt_shown::ReceiptShown;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::stock::{RecordReceipt, RecordReceiptRefusal};

impl From<RecordReceiptRefusal> for ApiError {
    fn from(refusal: RecordReceiptRefusal) -> Self {
        use RecordReceiptRefusal as Refusal;
        let detail = sentence(&refusal.to_string());
        let (line, name) = match refusal {
            Refusal::LineCount => {
                return ApiError::fields(vec![FieldError::new("/lines", detail)]);
            }
            Refusal::NoProduct { line } | Refusal::WrongCheckDigit { line } => (line, ""),
            Refusal::NoSuchLocation { line } => (line, "/location_id"),
            Refusal::SerialIsOne { line } | Refusal::TooMany { line } => (line, "/quantity"),
        };
        let pointer = format!("/lines/{}{name}", line.saturating_sub(1));
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    }
}

/// Takes in a delivery, all its lines or none. A finding keeps nothing out: what has arrived is in the
/// building, and the scan of a case judges again.
#[utoipa::path(
    operation_id = "record_receipt", tag = "stock", request_body = ReceiptBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Taken in.", body = ReceiptShown), Refusals),
)]
#[post("/v1/receipts")]
pub(super) async fn record_receipt(
    allowed: Allowed<act::RecordReceipt>,
    app: Data<App>,
    keyed: Keyed<ReceiptBody>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let station = keyed.body.station_id;
    let circumstances = app.circumstances(&mut reading, station).await?;
    let mut lines = Vec::with_capacity(keyed.body.lines.len());
    for (at, line) in keyed.body.lines.into_iter().enumerate() {
        let at = format!("/lines/{at}");
        let line = line.read(&app, &mut reading, &at, &circumstances);
        lines.push(line.await?);
    }
    drop(reading);
    let mut request = keyed.request;
    request.station = station;
    let recorded = app.recorder.record(
        &allowed.grant,
        request,
        RecordReceipt { lines },
        |taken_in, receipt| {
            let shown = ReceiptShown::from(taken_in);
            render(StatusCode::CREATED, &shown, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
