//! `PUT /v1/products/{product}`

use super::{Carries, ProductShown};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::{ProductKind, UseClass};
use lotwarden_store::catalogue::{ChangeProduct, ChangeProductRefusal, ProductDescription};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What a product is.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DescriptionBody {
    /// Its name.
    #[schema(
        example = "Inline smoke filter, 22 mm",
        min_length = 1,
        max_length = 500
    )]
    name: String,
    /// Who makes it.
    #[serde(default)]
    #[schema(example = "Kestrel Surgical", max_length = 200)]
    maker: String,
    /// The maker's model or version.
    #[serde(default)]
    #[schema(example = "ISF-22", max_length = 200)]
    model: String,
    /// What it is, coarsely; `other` unless told.
    #[schema(
        value_type = Option<String>, example = "filter",
        pattern = "^(handpiece|cannula|needle|gas|drug|diluent|filter|garment|dressing|instrument|equipment|other)$"
    )]
    kind: Option<ProductKind>,
    /// How often a piece may be used.
    #[schema(
        value_type = String, example = "single_use",
        pattern = "^(single_use|reusable|reprocessed_single_use)$"
    )]
    use_class: UseClass,
    /// What its label has to carry.
    #[serde(default)]
    carries: Carries,
}

impl Checked for DescriptionBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 500);
        errors.text("/maker", &self.maker, 0, 200);
        errors.text("/model", &self.model, 0, 200);
    }
}

impl From<DescriptionBody> for ProductDescription {
    fn from(body: DescriptionBody) -> Self {
        Self {
            name: body.name,
            maker: body.maker,
            model: body.model,
            kind: body.kind.unwrap_or(ProductKind::Other),
            use_class: body.use_class,
            carries: body.carries.into(),
        }
    }
}

impl From<ChangeProductRefusal> for ApiError {
    fn from(refusal: ChangeProductRefusal) -> Self {
        match refusal {
            ChangeProductRefusal::NoSuchProduct => ApiError::no_such("product"),
            ChangeProductRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangeProductRefusal::NothingChanged => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Describes a product anew; old and new values stand in the ledger. Its identifiers stay.
#[utoipa::path(
    operation_id = "change_product", tag = "catalogue", request_body = DescriptionBody,
    params(("product" = Uuid, Path, description = "The product."), Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = ProductShown), Refusals),
)]
#[put("/v1/products/{product}")]
pub(super) async fn change_product(
    allowed: Allowed<act::ChangeProduct>,
    app: Data<App>,
    product: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<DescriptionBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = ChangeProduct {
        id: product.into_inner(),
        version: version.0,
        description: keyed.body.into(),
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |product, receipt| {
            render(
                StatusCode::OK,
                &ProductShown::from(product),
                receipt,
                Some(product.version),
            )
        },
    );
    Ok(reply(recorded.await?))
}
