//! `POST /v1/counts/{count}/adjust`

use super::shelf_counts::ShelfCountShown;
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
use lotwarden_store::stock::{AdjustStock, AdjustStockRefusal, MOST_ADJUSTED};
use serde::Deserialize;
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;

/// Differences of a count that the record takes over.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AdjustBody {
    /// The lines of the count.
    #[schema(example = json!([1]), min_items = 1, max_items = 200)]
    lines: Vec<i32>,
    /// Why the record and the shelf differ.
    #[schema(example = "Found behind the bin", min_length = 3, max_length = 500)]
    reason: String,
}

impl Checked for AdjustBody {
    fn check(&self, errors: &mut Fields) {
        let distinct: BTreeSet<_> = self.lines.iter().collect();
        let fits = (1..=MOST_ADJUSTED).contains(&self.lines.len());
        errors.require(fits, "/lines", "must be 1 to 200 lines");
        let once = distinct.len() == self.lines.len();
        errors.require(once, "/lines", "must name each line once");
        errors.text("/reason", &self.reason, 3, 500);
    }
}

impl From<AdjustStockRefusal> for ApiError {
    fn from(refusal: AdjustStockRefusal) -> Self {
        use AdjustStockRefusal as Refusal;
        let detail = sentence(&refusal.to_string());
        match refusal {
            Refusal::NoSuchCount => ApiError::no_such("count"),
            Refusal::NoDifference { at } => {
                let error = FieldError::new(format!("/lines/{at}"), detail);
                ApiError::fields(vec![error])
            }
            Refusal::AdjustedBefore { .. } => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(detail)
            }
            Refusal::TooMany { at } => {
                ApiError::fields(vec![FieldError::new(format!("/lines/{at}"), detail)])
            }
            Refusal::NotThere { .. } => ApiError::new(&catalogue::NOT_ON_SHELF).detail(detail),
            Refusal::PieceElsewhere { .. } => ApiError::new(&catalogue::DIFFERS).detail(detail),
        }
    }
}

/// Takes differences of a count into the record of the stock, each once.
#[utoipa::path(
    operation_id = "adjust_stock", tag = "stock", request_body = AdjustBody,
    params(("count" = Uuid, Path, description = "The count."), IdempotencyKey),
    responses((status = 201, description = "In the record.", body = ShelfCountShown), Refusals),
)]
#[post("/v1/counts/{count}/adjust")]
pub(super) async fn adjust_stock(
    allowed: Allowed<act::AdjustStock>,
    app: Data<App>,
    count: Path<Uuid>,
    keyed: Keyed<AdjustBody>,
) -> Result<HttpResponse, ApiError> {
    let AdjustBody { lines, reason } = keyed.body;
    let operation = AdjustStock {
        count: count.into_inner(),
        lines,
        reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |count, receipt| {
            let shown = ShelfCountShown::from(count);
            render(StatusCode::CREATED, &shown, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
