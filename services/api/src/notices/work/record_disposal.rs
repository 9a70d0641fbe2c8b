//! `POST /v1/notices/{notice}/disposals`

use super::{WorkRecorded, on_record};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::Disposal;
use lotwarden_store::notices::work::{Disposed, RecordDisposal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What left the site for good.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DisposalBody {
    /// The lot.
    lot_id: Uuid,
    /// The place it left.
    location_id: Uuid,
    /// Units of use.
    #[schema(minimum = 1, maximum = 1000000)]
    quantity: u32,
    /// `sent_back` or `destroyed`.
    #[schema(value_type = String, example = "sent_back", pattern = "^(sent_back|destroyed)$")]
    how: Disposal,
    /// The tracking number, or how it was destroyed.
    #[schema(example = "1Z999AA10123456784", min_length = 1, max_length = 200)]
    tracking: String,
    /// Who saw it; needed for what is destroyed, and another person than the one who records it.
    #[serde(default)]
    witness_id: Option<Uuid>,
    /// The serialised pieces among them.
    #[serde(default)]
    #[schema(max_items = 10000)]
    unit_ids: Vec<Uuid>,
}

impl Checked for DisposalBody {
    fn check(&self, errors: &mut Fields) {
        let fits = (1..=1_000_000).contains(&self.quantity);
        errors.require(fits, "/quantity", "must be 1 to 1000000");
        errors.text("/tracking", &self.tracking, 1, 200);
        let few = self.unit_ids.len() <= 10_000 && self.unit_ids.len() <= self.quantity as usize;
        errors.require(few, "/unit_ids", "must be at most quantity pieces");
    }
}

/// Puts on record that units of a lot were sent back or destroyed, and takes them from its stock.
#[utoipa::path(
    operation_id = "record_disposal", tag = "notices", request_body = DisposalBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/disposals")]
pub(super) async fn record_disposal(
    allowed: Allowed<act::RecordDisposal>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<DisposalBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordDisposal {
        notice: notice.into_inner(),
        lot: body.lot_id,
        units: body.unit_ids,
        disposed: Disposed {
            how: body.how,
            location: body.location_id,
            quantity: body.quantity,
            tracking: body.tracking,
            witness: body.witness_id,
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
