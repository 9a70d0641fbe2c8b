//! `GET` and `POST /v1/stations`

use super::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, List, Paging, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::station::{NoSeparator, Separator};
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
    /// What its scanner sends for GS: `raw`, `ctrl+]`, `alt+029`, `f1` to `f12`, or `text:` and the
    /// characters.
    #[schema(example = "raw")]
    separator: String,
    /// When it was paired; none while it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    paired_at: Option<String>,
    /// Counts the changes; what `If-Match` names.
    #[schema(example = 1)]
    version: i32,
}

impl From<&store::Station> for Station {
    fn from(station: &store::Station) -> Self {
        Self {
            id: station.id,
            name: station.name.clone(),
            separator: station.separator.to_string(),
            paired_at: station.paired_at.map(instant_text),
            version: station.version,
        }
    }
}

/// A new station.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StationBody {
    /// Its name; one of a kind in the facility.
    #[schema(example = "Room 2, setup table", min_length = 1, max_length = 100)]
    name: String,
    /// What its scanner sends for GS (ASCII 29), the separator of GS1 labels: `raw` for GS itself, a
    /// key (`ctrl+]`, `alt+029`, `f1` to `f12`), or `text:` and 1 to 8 characters that stand for it.
    #[serde(default = "raw")]
    #[schema(example = "text:<GS>", default = "raw", max_length = 13)]
    separator: String,
}

fn raw() -> String {
    Separator::Raw.to_string()
}

impl Checked for StationBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
        check_separator(&self.separator, errors);
    }
}

/// Names what is wrong with a separator.
pub(super) fn check_separator(separator: &str, errors: &mut Fields) {
    if let Err(fault) = separator.parse::<Separator>() {
        errors.require(false, "/separator", &fault.to_string());
    }
}

/// The separator of a checked body.
pub(super) fn separator(separator: &str) -> Result<Separator, ApiError> {
    separator.parse().map_err(|fault: NoSeparator| {
        ApiError::fields(vec![FieldError::new("/separator", fault.to_string())])
    })
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
    Ok(HttpResponse::Ok().json(List::of(page, |station| Station::from(&station))))
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
        separator: separator(&keyed.body.separator)?,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |added, receipt| {
            let version = Some(added.version);
            render(StatusCode::CREATED, &Station::from(added), receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
