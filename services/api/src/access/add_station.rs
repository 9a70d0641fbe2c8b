//! `GET` and `POST /v1/stations`

use super::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_store::access::{self as store, AddStation, AddStationRefusal};
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// A scanning place known to the site.
#[derive(Debug, Serialize, ToSchema)]
pub struct Station {
    /// The station.
    id: Uuid,
    /// Its name.
    #[schema(example = "Room 2, setup table")]
    name: String,
    /// When it was paired; none while it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    paired_at: Option<String>,
}

/// A new station.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StationBody {
    /// Its name; one of a kind in the facility.
    #[schema(example = "Room 2, setup table", min_length = 1, max_length = 100)]
    name: String,
}

impl Checked for StationBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
    }
}

impl From<AddStationRefusal> for ApiError {
    fn from(refusal: AddStationRefusal) -> Self {
        match refusal {
            AddStationRefusal::NameTaken => ApiError::new(&catalogue::TAKEN),
        }
    }
}

/// Lists stations.
#[utoipa::path(
    operation_id = "list_stations", tag = "access", params(Paging),
    responses((status = 200, description = "A page of stations.", body = List<Station>), Refusals),
)]
#[get("/v1/stations")]
pub(super) async fn list_stations(
    allowed: Allowed<act::ListStations>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_stations(&mut reading, paging.after()?).await?;
    let station = |station: store::Station| Station {
        id: station.id,
        name: station.name,
        paired_at: station.paired_at.map(instant_text),
    };
    Ok(HttpResponse::Ok().json(List::of(page, station)))
}

/// Adds a station.
#[utoipa::path(
    operation_id = "add_station", tag = "access", request_body = StationBody, params(IdempotencyKey),
    responses((status = 201, description = "Added.", body = Station), Refusals),
)]
#[post("/v1/stations")]
pub(super) async fn add_station(
    allowed: Allowed<act::AddStation>,
    app: Data<App>,
    keyed: Keyed<StationBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = AddStation {
        name: keyed.body.name,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |added, receipt| {
            let station = Station {
                id: added.id,
                name: added.name.clone(),
                paired_at: None,
            };
            render(StatusCode::CREATED, &station, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
