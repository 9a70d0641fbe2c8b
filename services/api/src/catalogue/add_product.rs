//! `POST /v1/products`

use super::identifier::IdentifierBody;
use super::{Carries, ProductShown};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::{NewIdentifier, ProductKind, UseClass};
use lotwarden_store::catalogue::{AddProduct, AddProductRefusal, ProductDescription};
use serde::Deserialize;
use utoipa::ToSchema;

/// Identifiers of one product at most.
const MOST_IDENTIFIERS: usize = 100;

/// A new product.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ProductBody {
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
    /// What labels name it by.
    #[schema(min_items = 1, max_items = 100)]
    identifiers: Vec<IdentifierBody>,
}

impl Checked for ProductBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 500);
        errors.text("/maker", &self.maker, 0, 200);
        errors.text("/model", &self.model, 0, 200);
        let count = (1..=MOST_IDENTIFIERS).contains(&self.identifiers.len());
        errors.require(count, "/identifiers", "must be 1 to 100 identifiers");
        for (at, identifier) in self.identifiers.iter().enumerate() {
            identifier.check(&format!("/identifiers/{at}"), errors);
        }
    }
}

impl From<AddProductRefusal> for ApiError {
    fn from(refusal: AddProductRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddProductRefusal::IdentifierTaken(_) => {
                ApiError::new(&catalogue::TAKEN).detail(detail)
            }
        }
    }
}

/// Adds a product. When a label brought one of its identifiers in before anybody described it, that
/// product is described instead, so that its earlier receipts and uses stay with it.
#[utoipa::path(
    operation_id = "add_product", tag = "catalogue", request_body = ProductBody,
    params(IdempotencyKey),
    responses((status = 201, description = "In the catalogue.", body = ProductShown), Refusals),
)]
#[post("/v1/products")]
pub(super) async fn add_product(
    allowed: Allowed<act::AddProduct>,
    app: Data<App>,
    keyed: Keyed<ProductBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = AddProduct {
        identifiers: each_once(&body.identifiers)?,
        description: ProductDescription {
            name: body.name,
            maker: body.maker,
            model: body.model,
            kind: body.kind.unwrap_or(ProductKind::Other),
            use_class: body.use_class,
            carries: body.carries.into(),
        },
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |product, receipt| {
            render(
                StatusCode::CREATED,
                &ProductShown::from(product),
                receipt,
                Some(product.version),
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// The identifiers in every form; the same code again is no second one.
fn each_once(bodies: &[IdentifierBody]) -> Result<Vec<NewIdentifier>, ApiError> {
    let mut all: Vec<NewIdentifier> = Vec::new();
    for (at, body) in bodies.iter().enumerate() {
        for new in body.read()? {
            match all.iter().find(|known| known.code == new.code) {
                None => all.push(new),
                Some(known) if *known == new => {}
                Some(_) => {
                    let detail = "stands twice with different quantities";
                    let pointer = format!("/identifiers/{at}/code");
                    return Err(ApiError::fields(vec![FieldError::new(pointer, detail)]));
                }
            }
        }
    }
    Ok(all)
}
