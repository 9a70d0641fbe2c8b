//! `POST /v1/products/{product}/drug` and `GET /v1/drugs`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, List, Paging, reply};
use crate::mixes::{StrengthBody, StrengthShown};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_store::vials::{self as store, DescribeDrug, DescribeDrugRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What the label of a drug prints.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DrugBody {
    /// The volume of a container, more than 0 and at most 20000.
    #[schema(example = "50")]
    volume_ml: Option<Exact>,
    /// The maker's days after the first puncture, which take the place of the 28.
    #[schema(minimum = 1, maximum = 365)]
    in_use_days: Option<u16>,
    /// What is in it, as printed; none for a diluent.
    #[schema(max_items = 10)]
    strengths: Vec<StrengthBody>,
    /// Where it is from.
    #[schema(example = "Label, revision 2025-11", min_length = 3, max_length = 200)]
    source: String,
}

impl Checked for DrugBody {
    fn check(&self, errors: &mut Fields) {
        if let Some(volume) = self.volume_ml {
            errors.range("/volume_ml", volume, "0.000001", "20000");
        }
        let days = self
            .in_use_days
            .is_none_or(|days| (1..=365).contains(&days));
        errors.require(days, "/in_use_days", "must be 1 to 365");
        StrengthBody::check_all(&self.strengths, "/strengths", errors);
        errors.text("/source", &self.source, 3, 200);
    }
}

/// A drug as its label prints it.
#[derive(Debug, Serialize, ToSchema)]
pub struct Drug {
    /// The product.
    product_id: Uuid,
    /// Its name.
    #[serde(skip_serializing_if = "Option::is_none")]
    product_name: Option<String>,
    /// The volume of a container.
    #[serde(skip_serializing_if = "Option::is_none")]
    volume_ml: Option<Exact>,
    /// The maker's days after the first puncture.
    #[serde(skip_serializing_if = "Option::is_none")]
    in_use_days: Option<u16>,
    /// What is in it; whoever makes a mix confirms it.
    strengths: Vec<StrengthShown>,
    /// Where it is from.
    source: String,
}

impl Drug {
    fn of(product: Uuid, name: Option<String>, facts: &store::DrugFacts) -> Self {
        Self {
            product_id: product,
            product_name: name,
            volume_ml: facts.volume_ml.map(Exact),
            in_use_days: facts.in_use_days,
            strengths: facts.strengths.iter().map(StrengthShown::from).collect(),
            source: facts.source.clone(),
        }
    }
}

impl From<DescribeDrugRefusal> for ApiError {
    fn from(refusal: DescribeDrugRefusal) -> Self {
        match refusal {
            DescribeDrugRefusal::NoSuchProduct => ApiError::no_such("product"),
            DescribeDrugRefusal::NotADrug => {
                ApiError::new(&catalogue::DIFFERS).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Says what the label of a drug prints, so that nobody has to type it for each mix.
#[utoipa::path(
    operation_id = "describe_drug", tag = "mixes", request_body = DrugBody,
    params(("product" = Uuid, Path, description = "The product."), IdempotencyKey),
    responses((status = 200, description = "On record.", body = Drug), Refusals),
)]
#[post("/v1/products/{product}/drug")]
pub(super) async fn describe_drug(
    allowed: Allowed<act::DescribeDrug>,
    app: Data<App>,
    product: Path<Uuid>,
    keyed: Keyed<DrugBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = DescribeDrug {
        product: product.into_inner(),
        facts: store::DrugFacts {
            in_use_days: body.in_use_days,
            source: body.source,
            strengths: body
                .strengths
                .iter()
                .filter_map(StrengthBody::stored)
                .collect(),
            volume_ml: body.volume_ml.map(|volume| volume.0),
        },
    };
    let recorded =
        app.recorder
            .record(&allowed.grant, keyed.request, operation, |drug, receipt| {
                let answer = Drug::of(drug.product, None, &drug.facts);
                render(StatusCode::OK, &answer, receipt, None)
            });
    Ok(reply(recorded.await?))
}

/// Lists the drugs that somebody described, by product.
#[utoipa::path(
    operation_id = "list_drugs", tag = "mixes", params(Paging),
    responses((status = 200, description = "A page of drugs.", body = List<Drug>), Refusals),
)]
#[get("/v1/drugs")]
pub(super) async fn list_drugs(
    allowed: Allowed<act::ListDrugs>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_drugs(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |(id, name, facts)| {
        Drug::of(id, Some(name), &facts)
    })))
}
