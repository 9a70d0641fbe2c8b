//! `POST /v1/equipment/{equipment}/filters`

use super::{Due, Equipment};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::equipment::{ChangeFilter, ChangeFilterRefusal, NewFilter};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A fresh filter with its maker's life, in hours or in cases.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FilterBody {
    /// Its identifier or lot.
    #[schema(example = "UF-2611", min_length = 1, max_length = 100)]
    filter: String,
    /// The maker's life in hours, 0.1 to 10000; either this or `life_cases`.
    #[schema(example = "8")]
    life_hours: Option<Exact>,
    /// The maker's life in cases.
    #[schema(minimum = 1, maximum = 10000)]
    life_cases: Option<u32>,
    /// What the site expects a case to use in hours, 0 to 24; with a life in hours.
    #[schema(example = "0.5")]
    case_hours: Option<Exact>,
}

impl Checked for FilterBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/filter", &self.filter, 1, 100);
        if let Some(hours) = self.life_hours {
            errors.range("/life_hours", hours, "0.1", "10000");
        }
        let cases = self
            .life_cases
            .is_none_or(|cases| (1..=10_000).contains(&cases));
        errors.require(cases, "/life_cases", "must be 1 to 10000");
        errors.require(
            self.life_hours.is_some() != self.life_cases.is_some(),
            "/life_hours",
            "give the life either in hours or in cases",
        );
        if let Some(hours) = self.case_hours {
            errors.range("/case_hours", hours, "0", "24");
            errors.require(
                self.life_hours.is_some(),
                "/case_hours",
                "goes with a life in hours",
            );
        }
    }
}

impl From<ChangeFilterRefusal> for ApiError {
    fn from(refusal: ChangeFilterRefusal) -> Self {
        match refusal {
            ChangeFilterRefusal::NoSuchEquipment => ApiError::no_such("equipment"),
        }
    }
}

/// Puts a fresh filter in; hours and cases count from here.
#[utoipa::path(
    operation_id = "change_filter", tag = "equipment", request_body = FilterBody,
    params(("equipment" = Uuid, Path, description = "The piece."), IdempotencyKey),
    responses((status = 201, description = "It is in.", body = Equipment), Refusals),
)]
#[post("/v1/equipment/{equipment}/filters")]
pub(super) async fn change_filter(
    allowed: Allowed<act::ChangeFilter>,
    app: Data<App>,
    equipment: Path<Uuid>,
    keyed: Keyed<FilterBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = ChangeFilter {
        equipment: equipment.into_inner(),
        new: NewFilter {
            case_hours: body.case_hours.map(|hours| hours.0),
            filter: body.filter,
            life_cases: body.life_cases,
            life_hours: body.life_hours.map(|hours| hours.0),
        },
    };
    let due = Due::of(&app, allowed.caller.facility).await?;
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |piece, receipt| {
            let (answer, version) = (Equipment::of(piece, &due), Some(piece.version));
            render(StatusCode::CREATED, &answer, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
