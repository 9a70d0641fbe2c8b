//! `POST /v1/products/{product}/processing`

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
use lotwarden_store::loads::{SetCycleLimit, SetCycleLimitRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// That the site sterilizes a product, and how often a piece may go through.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProcessingBody {
    /// The maker's limit of cycles; none where the maker names none.
    #[schema(example = 20, minimum = 1, maximum = 100000)]
    cycle_limit: Option<u32>,
    /// Where the limit is from.
    #[schema(
        example = "Maker's instructions, revision 4",
        min_length = 3,
        max_length = 200
    )]
    source: String,
}

impl Checked for ProcessingBody {
    fn check(&self, errors: &mut Fields) {
        let fits = self
            .cycle_limit
            .is_none_or(|most| (1..=100_000).contains(&most));
        errors.require(fits, "/cycle_limit", "must be 1 to 100000");
        errors.text("/source", &self.source, 3, 200);
    }
}

/// How a product is processed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Processing {
    /// The product.
    product_id: Uuid,
    /// The maker's limit of cycles.
    #[serde(skip_serializing_if = "Option::is_none")]
    cycle_limit: Option<u32>,
    /// Where the limit is from.
    source: String,
}

impl From<&SetCycleLimit> for Processing {
    fn from(set: &SetCycleLimit) -> Self {
        Self {
            product_id: set.product,
            cycle_limit: set.most,
            source: set.source.clone(),
        }
    }
}

impl From<SetCycleLimitRefusal> for ApiError {
    fn from(refusal: SetCycleLimitRefusal) -> Self {
        match refusal {
            SetCycleLimitRefusal::NoSuchProduct => ApiError::no_such("product"),
            SetCycleLimitRefusal::NotReusable => {
                ApiError::new(&catalogue::DIFFERS).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Says that the site sterilizes a reusable product. From then on a scan of one of its pieces is
/// stopped without a released load since its last use, or past the maker's limit of cycles.
#[utoipa::path(
    operation_id = "set_cycle_limit", tag = "loads", request_body = ProcessingBody,
    params(("product" = Uuid, Path, description = "The product."), IdempotencyKey),
    responses((status = 200, description = "Set.", body = Processing), Refusals),
)]
#[post("/v1/products/{product}/processing")]
pub(super) async fn set_cycle_limit(
    allowed: Allowed<act::SetCycleLimit>,
    app: Data<App>,
    product: Path<Uuid>,
    keyed: Keyed<ProcessingBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = SetCycleLimit {
        product: product.into_inner(),
        most: keyed.body.cycle_limit,
        source: keyed.body.source,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, |set, receipt| {
            render(StatusCode::OK, &Processing::from(set), receipt, None)
        });
    Ok(reply(recorded.await?))
}
