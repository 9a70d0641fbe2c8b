//! `GET /v1/cases`

use super::Case;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_store::cases::{self as store, CaseFilter};
use serde::Deserialize;
use utoipa::IntoParams;
use uuid::Uuid;

/// Which cases.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those in a state.
    #[param(value_type = Option<String>, pattern = "^(preparation|in-progress|completed|not-done)$")]
    status: Option<CaseStatus>,
    /// Only those planned on a civil day in the facility's zone.
    #[param(value_type = Option<String>, format = Date)]
    day: Option<Date>,
    /// Only those in a room.
    location_id: Option<Uuid>,
}

/// Lists cases in the order they were opened, without patient identity.
#[utoipa::path(
    operation_id = "list_cases", tag = "cases", params(Which, Paging),
    responses((status = 200, description = "A page of cases.", body = List<Case>), Refusals),
)]
#[get("/v1/cases")]
pub(super) async fn list_cases(
    allowed: Allowed<act::ListCases>,
    app: Data<App>,
    which: Query<Which>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let mut filter = CaseFilter {
        status: which.status,
        location: which.location_id,
        scheduled: None,
    };
    if let Some(day) = which.day {
        let facility = app.recorder.facility(allowed.caller.facility).await?;
        filter = filter.on_day(&facility.zone, day);
    }
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, filter, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |case| Case::from(&case))))
}
