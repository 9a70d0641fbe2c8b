//! `PUT /v1/stations/{station}`

use super::Allowed;
use super::add_station::{Station, check_separator, separator};
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use lotwarden_domain::access::act;
use lotwarden_store::access::{ChangeStation, ChangeStationRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What can be changed about a station.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StationChange {
    /// Its name; one of a kind in the facility.
    #[schema(example = "Room 2, setup table", min_length = 1, max_length = 100)]
    name: String,
    /// What its scanner sends for GS, as when it was added.
    #[schema(example = "f8", max_length = 13)]
    separator: String,
}

impl Checked for StationChange {
    fn check(&self, errors: &mut Fields) {
        errors.text("/name", &self.name, 1, 100);
        check_separator(&self.separator, errors);
    }
}

impl From<ChangeStationRefusal> for ApiError {
    fn from(refusal: ChangeStationRefusal) -> Self {
        match refusal {
            ChangeStationRefusal::NoSuchStation => ApiError::no_such("station"),
            ChangeStationRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangeStationRefusal::NameTaken => ApiError::new(&catalogue::TAKEN),
        }
    }
}

/// Gives a station another name or separator; it counts from the next reading.
#[utoipa::path(
    operation_id = "change_station", tag = "access", request_body = StationChange,
    params(("station" = Uuid, Path, description = "The station."), Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = Station), Refusals),
)]
// Ids only: words such as `current` stand at this place too, with other methods.
#[put("/v1/stations/{station:[0-9a-f]+-[0-9a-f-]+}")]
pub(super) async fn change_station(
    allowed: Allowed<act::ChangeStation>,
    app: Data<App>,
    station: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<StationChange>,
) -> Result<HttpResponse, ApiError> {
    let operation = ChangeStation {
        id: station.into_inner(),
        version: version.0,
        name: keyed.body.name,
        separator: separator(&keyed.body.separator)?,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |changed, receipt| {
            let version = Some(changed.version);
            render(StatusCode::OK, &Station::from(changed), receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
