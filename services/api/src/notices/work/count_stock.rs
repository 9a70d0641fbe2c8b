//! `POST /v1/notices/{notice}/counts`

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
use lotwarden_store::notices::work::{Count, CountStock};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What was found of a lot.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CountBody {
    /// The lot.
    lot_id: Uuid,
    /// Units of use that were put in quarantine.
    #[schema(maximum = 1000000)]
    quarantined: u32,
    /// Units of use that were found and left where they were.
    #[schema(maximum = 1000000)]
    left_in_place: u32,
}

impl Checked for CountBody {
    fn check(&self, errors: &mut Fields) {
        for (pointer, count) in [
            ("/quarantined", self.quarantined),
            ("/left_in_place", self.left_in_place),
        ] {
            errors.require(count <= 1_000_000, pointer, "must be at most 1000000");
        }
    }
}

/// Puts on record what a person counted of a lot; a later count stands in the place of an earlier one.
#[utoipa::path(
    operation_id = "count_stock", tag = "notices", request_body = CountBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/counts")]
pub(super) async fn count_stock(
    allowed: Allowed<act::CountStock>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<CountBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = CountStock {
        notice: notice.into_inner(),
        lot: body.lot_id,
        count: Count {
            quarantined: body.quarantined,
            left_in_place: body.left_in_place,
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
