//! `POST /v1/locations`

use super::list_locations::Location;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::LocationKind;
use lotwarden_store::stock::{AddLocation, AddLocationRefusal};
use serde::Deserialize;
use utoipa::ToSchema;

/// A new place.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LocationBody {
    /// Its name, one of a kind.
    #[schema(example = "Procedure room 2", min_length = 1, max_length = 100)]
    name: String,
    /// `room`, `shelf`, `dock` or `quarantine`.
    #[schema(value_type = String, example = "room", pattern = "^(room|shelf|dock|quarantine)$")]
    kind: LocationKind,
}

impl Checked for LocationBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
    }
}

impl From<AddLocationRefusal> for ApiError {
    fn from(refusal: AddLocationRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddLocationRefusal::NameTaken => ApiError::new(&catalogue::TAKEN).detail(detail),
        }
    }
}

/// Adds a place.
#[utoipa::path(
    operation_id = "add_location", tag = "stock", request_body = LocationBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Added.", body = Location), Refusals),
)]
#[post("/v1/locations")]
pub(super) async fn add_location(
    allowed: Allowed<act::AddLocation>,
    app: Data<App>,
    keyed: Keyed<LocationBody>,
) -> Result<HttpResponse, ApiError> {
    let LocationBody { name, kind } = keyed.body;
    let operation = AddLocation { name, kind };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |place, receipt| render(StatusCode::CREATED, &Location::from(place), receipt, None),
    );
    Ok(reply(recorded.await?))
}
