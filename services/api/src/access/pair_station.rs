//! `POST /v1/stations/{station}/pairing-codes`, `POST /v1/stations/pair`,
//! `DELETE /v1/stations/{station}/credential` and `GET /v1/stations/current`

use super::at_station::AtStation;
use super::sessions::{address, new_refresh_token, taken, unrendered};
use super::{Allowed, browser};
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, delete, get, post};
use jiff::Timestamp;
use lotwarden_domain::access::{Grant, act, random_letters};
use lotwarden_store::Request;
use lotwarden_store::access::{
    self as store, MakePairingCode, PairStation, PairStationRefusal, PairedStation, StationRefusal,
    UnpairStation, code_hash, station_of_code, token_hash,
};
use lotwarden_store::moment::instant_text;
use lotwarden_store::sealing::random_bytes;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// A code that pairs a station once.
#[derive(Debug, Serialize, ToSchema)]
pub struct PairingCode {
    /// To be typed at the station: 40 bits, without look-alikes.
    #[schema(
        example = "K7QM-2XPA",
        pattern = "^[A-HJ-NP-Z2-9]{4}-[A-HJ-NP-Z2-9]{4}$"
    )]
    code: String,
    /// When it ends.
    #[schema(format = DateTime)]
    ends_at: String,
}

/// The code as it is typed.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PairBody {
    /// The pairing code; case, spaces and dashes do not count.
    #[schema(value_type = String, example = "K7QM-2XPA", min_length = 8, max_length = 20)]
    code: Zeroizing<String>,
    /// True for a page of this service: the credential comes as a cookie that no script can read,
    /// and not in the answer.
    #[serde(default)]
    browser: bool,
}

impl Checked for PairBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/code", &self.code, 8, 20);
    }
}

/// A station that is paired now.
#[derive(Debug, Serialize, ToSchema)]
pub struct Paired {
    /// The station.
    id: Uuid,
    /// Its name.
    #[schema(example = "Room 2, setup table")]
    name: String,
    /// Send it as `Authorization: Station`; until the station is unpaired. A browser has it in a
    /// cookie instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub(super) credential: Option<String>,
}

/// A paired station, as it sees itself.
#[derive(Debug, Serialize, ToSchema)]
pub struct StationShown {
    /// The station.
    id: Uuid,
    /// Its name.
    #[schema(example = "Room 2, setup table")]
    name: String,
    /// When it was paired.
    #[schema(format = DateTime)]
    paired_at: String,
    /// The facility's name.
    facility_name: String,
    /// The facility's time zone, from the IANA time zone database.
    #[schema(example = "Europe/Lisbon")]
    time_zone: String,
    /// Minutes without use after which its page locks.
    #[schema(example = 15)]
    idle_lock_minutes: u16,
}

impl From<StationRefusal> for ApiError {
    fn from(refusal: StationRefusal) -> Self {
        match refusal {
            StationRefusal::NoSuchStation => ApiError::no_such("station"),
            StationRefusal::NotPaired => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

impl From<PairStationRefusal> for ApiError {
    fn from(refusal: PairStationRefusal) -> Self {
        ApiError::new(&catalogue::NOT_PAIRED).detail(sentence(&refusal.to_string()))
    }
}

/// Makes a code that pairs the station once, within ten minutes. It is shown this once, so the
/// request takes no key.
#[utoipa::path(
    operation_id = "make_pairing_code", tag = "access",
    params(("station" = Uuid, Path, description = "The station.")),
    responses((status = 201, description = "Made.", body = PairingCode), Refusals),
)]
#[post("/v1/stations/{station}/pairing-codes")]
pub(super) async fn make_pairing_code(
    allowed: Allowed<act::MakePairingCode>,
    app: Data<App>,
    station: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let letters = random_letters(&random_bytes::<8>());
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let operation = MakePairingCode {
        station: station.into_inner(),
        hash: code_hash(&facility, app.recorder.master(), &letters)?,
    };
    let (ends_at, render) = taken(|ends_at: &Timestamp| *ends_at);
    app.recorder
        .record(&allowed.grant, Request::default(), operation, render)
        .await?;
    let ends_at = ends_at
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    let (first, second) = letters.split_at(4);
    Ok(HttpResponse::Created().json(PairingCode {
        code: format!("{first}-{second}"),
        ends_at: instant_text(*ends_at),
    }))
}

/// Pairs a station with its code; the credential it gets lets badges sign in there and held scans
/// be delivered, and nothing else.
#[utoipa::path(
    operation_id = "pair_station", tag = "access", request_body = PairBody, security(()),
    responses((status = 201, description = "Paired.", body = Paired), Refusals),
)]
#[post("/v1/stations/pair")]
pub(super) async fn pair_station(
    request: HttpRequest,
    app: Data<App>,
    body: Body<PairBody>,
) -> Result<HttpResponse, ApiError> {
    let PairBody { code, browser } = body.0;
    app.throttle.address(&address(&request))?;
    let letters = code.chars().filter(char::is_ascii_alphanumeric);
    let code = letters.collect::<String>().to_ascii_uppercase();
    let (master, now) = (app.recorder.master(), app.recorder.clock().now());
    let found = station_of_code(app.database(), master, &code, now).await?;
    let (facility, station, code) =
        found.ok_or_else(|| ApiError::from(PairStationRefusal::NotValid))?;
    let credential = new_refresh_token(facility);
    let operation = PairStation {
        station,
        code,
        credential: token_hash(&credential),
    };
    let grant = Grant::on_pairing_code(facility, station);
    let (paired, render) = taken(PairedStation::clone);
    let request = Request {
        key: None,
        station: Some(station),
    };
    app.recorder
        .record(&grant, request, operation, render)
        .await?;
    let paired = paired
        .get()
        .ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    let answer = Paired {
        id: paired.id,
        name: paired.name.clone(),
        credential: Some(credential),
    };
    Ok(browser::paired(answer, browser))
}

/// Takes a station's credential back; the session that is open there ends.
#[utoipa::path(
    operation_id = "unpair_station", tag = "access",
    params(("station" = Uuid, Path, description = "The station.")),
    responses((status = 204, description = "Unpaired."), Refusals),
)]
#[delete("/v1/stations/{station}/credential")]
pub(super) async fn unpair_station(
    allowed: Allowed<act::UnpairStation>,
    app: Data<App>,
    station: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let operation = UnpairStation {
        station: station.into_inner(),
    };
    app.recorder
        .record(&allowed.grant, Request::default(), operation, unrendered)
        .await?;
    let facility = allowed.caller.facility;
    app.ended.learn(&app.recorder, facility).await?;
    Ok(HttpResponse::NoContent().finish())
}

/// Shows a paired station to itself.
#[utoipa::path(
    operation_id = "show_station", tag = "access", security(("station" = [])),
    responses((status = 200, description = "The station.", body = StationShown), Refusals),
)]
#[get("/v1/stations/current")]
pub(super) async fn show_station(
    station: AtStation,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let station = station.0;
    let facility = app.recorder.facility(station.facility).await?;
    let mut reading = app.reading(station.facility).await?;
    let policy = store::show_policy(&mut reading).await?;
    Ok(HttpResponse::Ok().json(StationShown {
        id: station.id,
        name: station.name,
        paired_at: instant_text(station.paired_at),
        facility_name: facility.name,
        time_zone: facility.zone.iana_name().unwrap_or("UTC").to_owned(),
        idle_lock_minutes: policy.settings.idle_lock_minutes,
    }))
}
