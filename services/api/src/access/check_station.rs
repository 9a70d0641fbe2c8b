//! `POST /v1/stations/check`

use super::Allowed;
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals};
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_codes::check_readings;
use lotwarden_domain::access::act;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// What a station delivered for the symbols of its test page.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StationCheckBody {
    /// The characters of each scan as they came, in any order.
    #[schema(min_items = 1, max_items = 20, example = json!(["]d2010952012345678810Station-Zy\u{1d}21Matrix"]))]
    readings: Vec<String>,
    /// The station, whose setting says what stands for the separator.
    station_id: Option<Uuid>,
}

impl Checked for StationCheckBody {
    fn check(&self, errors: &mut Fields) {
        let count = self.readings.len();
        errors.require((1..=20).contains(&count), "/readings", "must be 1 to 20");
        for (at, reading) in self.readings.iter().enumerate() {
            let fits = (1..=4096).contains(&reading.chars().count());
            let pointer = format!("/readings/{at}");
            errors.require(fits, &pointer, "must be 1 to 4096 characters");
        }
    }
}

/// What the readings tell about the station.
#[derive(Debug, Serialize, ToSchema)]
pub struct StationChecked {
    /// Whether every symbol came through.
    passes: bool,
    /// One for each symbol of the page.
    symbols: Vec<SymbolChecked>,
}

/// What the station made of one symbol.
#[derive(Debug, Serialize, ToSchema)]
pub struct SymbolChecked {
    /// `gs1_datamatrix`, `gs1_128` or `hibc`.
    symbol: &'static str,
    /// `proven`, `separator_substituted`, or the fault: `separator_lost`, `case_swapped`,
    /// `layout_changed`, `full_ascii_mode`, `suffix_added`, `unread`.
    outcome: &'static str,
    /// Whether the scanner sends symbology identifiers.
    sends_symbology: bool,
    /// What to do.
    advice: &'static str,
}

/// Says whether a station passes every character of its test page, and names the fault if not.
/// Nothing is recorded.
#[utoipa::path(
    operation_id = "check_station", tag = "access", request_body = StationCheckBody,
    responses((status = 200, description = "What the station made of each symbol.", body = StationChecked), Refusals),
)]
#[post("/v1/stations/check")]
pub(super) async fn check_station(
    allowed: Allowed<act::CheckStation>,
    app: Data<App>,
    body: Body<StationCheckBody>,
) -> Result<HttpResponse, ApiError> {
    let mut rows = app.reading(allowed.caller.facility).await?;
    let circumstances = app.circumstances(&mut rows, body.0.station_id).await?;
    let readings = body.0.readings.iter().map(String::as_str);
    let checks = check_readings(readings, &circumstances.context());
    let symbols = checks.map(|(symbol, check)| SymbolChecked {
        symbol: symbol.as_str(),
        outcome: check.outcome.as_str(),
        sends_symbology: check.sends_symbology,
        advice: check.outcome.advice(),
    });
    Ok(HttpResponse::Ok().json(StationChecked {
        passes: checks.iter().all(|(_, check)| check.outcome.passes()),
        symbols: Vec::from(symbols),
    }))
}
