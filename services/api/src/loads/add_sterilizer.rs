//! `POST /v1/sterilizers` and `GET /v1/sterilizers`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::loads::PositivePolicy;
use lotwarden_store::loads::{self as store, AddSterilizer, AddSterilizerRefusal};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A new sterilizer.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SterilizerBody {
    /// Its name, one of a kind.
    #[schema(example = "Autoclave 1", min_length = 1, max_length = 100)]
    name: String,
    /// What the site does after a positive biological indicator; an explicit choice (CDC Guideline
    /// for Disinfection and Sterilization, 2008, updated 2019): `recall_suspect` recalls every load
    /// back to the last negative one; `decide_single_positive` puts a single positive with good other
    /// indicators and a negative repeat before a person. The loads are held either way.
    #[schema(value_type = String, example = "recall_suspect", pattern = "^(recall_suspect|decide_single_positive)$")]
    positive_policy: PositivePolicy,
}

impl Checked for SterilizerBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
    }
}

/// A sterilizer.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sterilizer {
    /// The sterilizer.
    id: Uuid,
    /// Its name.
    name: String,
    /// What the site does after a positive biological indicator.
    #[schema(value_type = String, example = "recall_suspect")]
    positive_policy: PositivePolicy,
    /// Since when it is out of service.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    out_of_service_since: Option<String>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

impl From<&store::Sterilizer> for Sterilizer {
    fn from(sterilizer: &store::Sterilizer) -> Self {
        Self {
            id: sterilizer.id,
            name: sterilizer.name.clone(),
            positive_policy: sterilizer.positive_policy,
            out_of_service_since: sterilizer.out_of_service_since.map(instant_text),
            version: sterilizer.version,
        }
    }
}

impl From<AddSterilizerRefusal> for ApiError {
    fn from(refusal: AddSterilizerRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddSterilizerRefusal::NameTaken => ApiError::new(&catalogue::TAKEN).detail(detail),
        }
    }
}

/// Adds a sterilizer with the policy that somebody chose for it.
#[utoipa::path(
    operation_id = "add_sterilizer", tag = "loads", request_body = SterilizerBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Added.", body = Sterilizer), Refusals),
)]
#[post("/v1/sterilizers")]
pub(super) async fn add_sterilizer(
    allowed: Allowed<act::AddSterilizer>,
    app: Data<App>,
    keyed: Keyed<SterilizerBody>,
) -> Result<HttpResponse, ApiError> {
    let SterilizerBody {
        name,
        positive_policy,
    } = keyed.body;
    let operation = AddSterilizer {
        name,
        positive_policy,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |added, receipt| {
            let version = Some(added.version);
            render(
                StatusCode::CREATED,
                &Sterilizer::from(added),
                receipt,
                version,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// Lists sterilizers in the order they were added.
#[utoipa::path(
    operation_id = "list_sterilizers", tag = "loads", params(Paging),
    responses((status = 200, description = "A page of sterilizers.", body = List<Sterilizer>), Refusals),
)]
#[get("/v1/sterilizers")]
pub(super) async fn list_sterilizers(
    allowed: Allowed<act::ListSterilizers>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_sterilizers(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |each| Sterilizer::from(&each))))
}
