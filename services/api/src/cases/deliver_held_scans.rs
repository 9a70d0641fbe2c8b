//! `POST /v1/stations/current/held-scans`

use super::record_scan::{Held, ScanBody, ScanRecorded, record};
use crate::access::AtStation;
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::http::keyed::fingerprint;
use crate::problem::{ApiError, Problem, Refusals, catalogue};
use actix_web::web::Data;
use actix_web::{HttpResponse, ResponseError, post};
use jiff::Timestamp;
use lotwarden_domain::access::{Grant, act};
use lotwarden_store::access::{PairedStation, held_session};
use lotwarden_store::{Answer, Request};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::ToSchema;
use uuid::Uuid;

/// Scans that a station held while it could not reach the service, in the order they were made.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HeldScans {
    /// 1 to 50.
    #[schema(min_items = 1, max_items = 50)]
    scans: Vec<HeldScan>,
    /// What the station's clock says as it sends this: how far it is off is flagged on each scan
    /// beyond the site's `clock_skew_seconds`.
    #[schema(value_type = Option<String>, format = DateTime)]
    sent_at: Option<Timestamp>,
}

/// One held scan.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HeldScan {
    /// The key it was made with: the Idempotency-Key of every attempt to record it.
    #[schema(
        example = "5f0c2b9e-8d5b-4f1a-9a53-0d8f2f3f6f11",
        min_length = 1,
        max_length = 255
    )]
    key: String,
    /// The session of who was signed in at this station then.
    session_id: Uuid,
    /// The case.
    case_id: Uuid,
    /// What would have been sent to `POST /v1/cases/{case}/scans`, with its `occurred_at`; the same
    /// bytes as in an attempt that was cut off, so that the scan is recorded once.
    #[schema(value_type = ScanBody)]
    scan: Box<RawValue>,
}

impl Checked for HeldScans {
    fn check(&self, errors: &mut Fields) {
        let count = self.scans.len();
        errors.require((1..=50).contains(&count), "/scans", "must be 1 to 50");
        for (at, scan) in self.scans.iter().enumerate() {
            errors.text(&format!("/scans/{at}/key"), &scan.key, 1, 255);
        }
    }
}

/// What became of held scans.
#[derive(Debug, Serialize, ToSchema)]
pub struct Delivered {
    /// One for each, in the order they came.
    items: Vec<DeliveredScan>,
}

/// What became of one held scan.
#[derive(Debug, Serialize, ToSchema)]
pub struct DeliveredScan {
    /// Its key.
    key: String,
    /// `recorded`; `refused`, when it will not be recorded as it is and a person has to look; or
    /// `later`, when it was not tried or the service could not record it now.
    #[schema(example = "recorded")]
    outcome: &'static str,
    /// What it came to, when it is recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<ScanRecorded>)]
    scan: Option<Box<RawValue>>,
    /// Why not, when it is not.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Problem>)]
    problem: Option<Box<RawValue>>,
}

/// Delivers scans that the station held, each in the name of who was signed in there then. Each is
/// judged as of now and marked as delivered late; one that turns out to be a stop is a task for a
/// person. After the first that cannot be recorded now, the rest is left for later.
#[utoipa::path(
    operation_id = "deliver_held_scans", tag = "cases", request_body = HeldScans,
    security(("station" = [])),
    responses((status = 200, description = "What became of each.", body = Delivered), Refusals),
)]
#[post("/v1/stations/current/held-scans")]
pub(super) async fn deliver_held_scans(
    station: AtStation,
    app: Data<App>,
    body: Body<HeldScans>,
) -> Result<HttpResponse, ApiError> {
    let station = station.0;
    app.throttle.request(station.id).1?;
    let mut items = Vec::with_capacity(body.0.scans.len());
    let mut reachable = true;
    let now = app.recorder.clock().now();
    let ahead = |sent_at: Timestamp| sent_at.duration_since(now).as_secs();
    let clock_ahead = body.0.sent_at.map(ahead);
    for held in body.0.scans {
        let recorded = if reachable {
            deliver(&app, &station, &held, clock_ahead).await
        } else {
            Err(ApiError::new(&catalogue::BUSY))
        };
        let item = DeliveredScan::of(held.key, recorded);
        reachable &= item.outcome != LATER;
        items.push(item);
    }
    Ok(HttpResponse::Ok().json(Delivered { items }))
}

async fn deliver(
    app: &App,
    station: &PairedStation,
    held: &HeldScan,
    clock_ahead: Option<i64>,
) -> Result<Answer, ApiError> {
    let not_json = || ApiError::new(&catalogue::NOT_JSON).detail("The scan is not one.");
    let text = held.scan.get();
    let mut scan: ScanBody = serde_json::from_str(text).map_err(|_| not_json())?;
    let mut errors = Fields::default();
    scan.check(&mut errors);
    errors.require(scan.occurred_at.is_some(), "/occurred_at", "must say when");
    errors.done()?;
    let occurred_at = scan.occurred_at.ok_or_else(not_json)?;
    let mut reading = app.reading(station.facility).await?;
    let caller = held_session(&mut reading, held.session_id, station.id, occurred_at).await?;
    drop(reading);
    let caller = caller.ok_or_else(|| {
        let detail = "That session was not open at this station at that time.";
        ApiError::new(&catalogue::FORBIDDEN).detail(detail)
    })?;
    let grant = Grant::<act::RecordScan>::to(&caller)?;
    let path = format!("/v1/cases/{}/scans", held.case_id);
    let request = Request {
        key: Some((
            held.key.clone(),
            fingerprint(app, "POST", &path, text.as_bytes())?,
        )),
        station: Some(station.id),
    };
    scan.station_id = Some(station.id);
    record(
        app,
        &grant,
        request,
        held.case_id,
        scan,
        Some(Held {
            session: held.session_id,
            clock_ahead,
        }),
    )
    .await
}

const LATER: &str = "later";

impl DeliveredScan {
    fn of(key: String, recorded: Result<Answer, ApiError>) -> Self {
        let raw = |text: String| RawValue::from_string(text).ok();
        match recorded {
            Ok(answer) => Self {
                key,
                outcome: "recorded",
                scan: String::from_utf8(answer.rendered.body).ok().and_then(raw),
                problem: None,
            },
            Err(error) => {
                let now = error.status_code().is_client_error();
                Self {
                    key,
                    outcome: if now { "refused" } else { LATER },
                    scan: None,
                    problem: raw(error.text()),
                }
            }
        }
    }
}
