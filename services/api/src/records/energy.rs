//! `POST /v1/cases/{case}/energy` and `GET /v1/cases/{case}/energy`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Exact, Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::records::{self as store, NewEnergy, RecordEnergy, RecordEnergyRefusal};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Energy in one zone.
#[derive(Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnergyBody {
    /// The zone, by the site's own list.
    #[schema(example = "Calf, left", min_length = 1, max_length = 100)]
    zone: String,
    /// The scan that put the handpiece on the case.
    handpiece_scan_id: Uuid,
    /// The generator as the team names it, with its serial.
    #[schema(example = "Generator 2, SN 00417", min_length = 1, max_length = 100)]
    generator: String,
    /// The power setting, 0 to 100.
    #[schema(example = "70")]
    power_percent: Exact,
    /// The set gas flow, 0.01 to 100.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "1.5")]
    litre_per_minute: Option<Exact>,
    /// Passes.
    #[schema(example = 6, minimum = 0, maximum = 10000)]
    passes: i32,
    /// Seconds in which energy flowed, 0 to 86400.
    #[schema(example = "240")]
    active_seconds: Exact,
    /// The highest skin temperature, 0 to 100; it names its instrument.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "38.5")]
    max_skin_celsius: Option<Exact>,
    /// The instrument that measured the skin: instruments differ by degrees (Key, J Drugs Dermatol
    /// 2014;13:185).
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "Infrared camera 1", min_length = 1, max_length = 100)]
    instrument: Option<String>,
    /// Notes; never a patient's identity.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(min_length = 1, max_length = 500)]
    notes: Option<String>,
}

impl Checked for EnergyBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/zone", &self.zone, 1, 100);
        errors.text("/generator", &self.generator, 1, 100);
        errors.range("/power_percent", self.power_percent, "0", "100");
        if let Some(flow) = self.litre_per_minute {
            errors.range("/litre_per_minute", flow, "0.01", "100");
        }
        let passes = (0..=10_000).contains(&self.passes);
        errors.require(passes, "/passes", "must be 0 to 10000");
        errors.range("/active_seconds", self.active_seconds, "0", "86400");
        if let Some(skin) = self.max_skin_celsius {
            errors.range("/max_skin_celsius", skin, "0", "100");
        }
        errors.require(
            self.instrument.is_some() == self.max_skin_celsius.is_some(),
            "/instrument",
            "must be given with a skin temperature, and with nothing else",
        );
        if let Some(instrument) = &self.instrument {
            errors.text("/instrument", instrument, 1, 100);
        }
        if let Some(notes) = &self.notes {
            errors.text("/notes", notes, 1, 500);
        }
    }
}

/// Energy on record.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyEntry {
    /// The entry.
    id: Uuid,
    /// What was done.
    #[serde(flatten)]
    energy: EnergyBody,
    /// Who recorded it.
    recorded_by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// The energy log of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyLog {
    /// The entries, oldest first.
    entries: Vec<EnergyEntry>,
    /// Seconds in which energy flowed, in all.
    active_seconds: Exact,
    /// Passes, in all.
    passes: i64,
    /// Litres of gas on the case by flow and time.
    gas_litre: Exact,
}

impl From<&store::EnergyEntry> for EnergyEntry {
    fn from(entry: &store::EnergyEntry) -> Self {
        let new = &entry.new;
        Self {
            id: entry.id,
            energy: EnergyBody {
                zone: new.zone.clone(),
                handpiece_scan_id: new.handpiece,
                generator: new.generator.clone(),
                power_percent: new.power_percent.into(),
                litre_per_minute: new.litre_per_minute.map(Exact),
                passes: new.passes,
                active_seconds: new.active_seconds.into(),
                max_skin_celsius: new.max_skin_celsius.map(Exact),
                instrument: new.instrument.clone(),
                notes: new.notes.clone(),
            },
            recorded_by: entry.by.clone(),
            at: instant_text(entry.at),
        }
    }
}

impl From<RecordEnergyRefusal> for ApiError {
    fn from(refusal: RecordEnergyRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            RecordEnergyRefusal::Case(reason) => reason.into(),
            RecordEnergyRefusal::NotOnCase => {
                ApiError::fields(vec![FieldError::new("/handpiece_scan_id", detail)])
            }
        }
    }
}

/// Records energy in one zone of a case. Settings and end points are the site's own.
#[utoipa::path(
    operation_id = "record_energy", tag = "records", request_body = EnergyBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Recorded.", body = EnergyEntry), Refusals),
)]
#[post("/v1/cases/{case}/energy")]
pub(super) async fn record_energy(
    allowed: Allowed<act::RecordEnergy>,
    app: Data<App>,
    case: Path<Uuid>,
    keyed: Keyed<EnergyBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let new = NewEnergy {
        active_seconds: body.active_seconds.0,
        generator: body.generator,
        handpiece: body.handpiece_scan_id,
        instrument: body.instrument,
        litre_per_minute: body.litre_per_minute.map(|flow| flow.0),
        max_skin_celsius: body.max_skin_celsius.map(|skin| skin.0),
        notes: body.notes,
        passes: body.passes,
        power_percent: body.power_percent.0,
        zone: body.zone,
    };
    let operation = RecordEnergy {
        case: case.into_inner(),
        new,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |entry, receipt| {
            render(
                StatusCode::CREATED,
                &EnergyEntry::from(entry),
                receipt,
                None,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// Shows the energy log of a case with its sums of time, passes and gas.
#[utoipa::path(
    operation_id = "show_energy", tag = "records",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The log.", body = EnergyLog), Refusals),
)]
#[get("/v1/cases/{case}/energy")]
pub(super) async fn show_energy(
    allowed: Allowed<act::ShowEnergy>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let log = store::show_energy(&mut reading, case.into_inner()).await?;
    let log = log.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(EnergyLog {
        entries: log.entries.iter().map(EnergyEntry::from).collect(),
        active_seconds: log.active_seconds.into(),
        passes: log.passes,
        gas_litre: log.gas_litre.into(),
    }))
}
