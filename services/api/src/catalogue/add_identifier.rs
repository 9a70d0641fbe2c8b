//! `POST /v1/products/{product}/identifiers`

use super::ProductShown;
use super::identifier::IdentifierBody;
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
use lotwarden_store::catalogue::{AddIdentifier, AddIdentifierRefusal};
use uuid::Uuid;

impl Checked for IdentifierBody {
    fn check(&self, errors: &mut Fields) {
        IdentifierBody::check(self, "", errors);
    }
}

impl From<AddIdentifierRefusal> for ApiError {
    fn from(refusal: AddIdentifierRefusal) -> Self {
        match refusal {
            AddIdentifierRefusal::NoSuchProduct => ApiError::no_such("product"),
            AddIdentifierRefusal::IdentifierTaken => {
                ApiError::new(&catalogue::TAKEN).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Gives a product a further identifier: another agency's, or that of a package.
#[utoipa::path(
    operation_id = "add_identifier", tag = "catalogue", request_body = IdentifierBody,
    params(("product" = Uuid, Path, description = "The product."), IdempotencyKey),
    responses((status = 201, description = "Added.", body = ProductShown), Refusals),
)]
#[post("/v1/products/{product}/identifiers")]
pub(super) async fn add_identifier(
    allowed: Allowed<act::AddIdentifier>,
    app: Data<App>,
    product: Path<Uuid>,
    keyed: Keyed<IdentifierBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = AddIdentifier {
        product: product.into_inner(),
        identifiers: keyed.body.read()?,
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
