//! `POST /v1/cases/{case}/energy` and `GET /v1/cases/{case}/energy`

use super::energy_limits::EnergyLimit;
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
use lotwarden_store::records::{
    self as store, CountedLimit, NewEnergy, RecordEnergy, RecordEnergyRefusal,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Energy in one zone.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EnergyBody {
    /// The zone, by the site's own list.
    #[schema(example = "Calf, left", min_length = 1, max_length = 100)]
    zone: String,
    /// The scan that put the handpiece on the case.
    handpiece_scan_id: Uuid,
    /// The generator, which was set up on the case.
    generator_id: Uuid,
    /// The power setting, 0 to 100.
    #[schema(example = "70")]
    power_percent: Exact,
    /// The set gas flow, 0.01 to 100.
    #[schema(example = "1.5")]
    litre_per_minute: Option<Exact>,
    /// Passes.
    #[schema(example = 6, minimum = 0, maximum = 10000)]
    passes: i32,
    /// Seconds in which energy flowed, 0 to 86400.
    #[schema(example = "240")]
    active_seconds: Exact,
    /// The highest skin temperature, 0 to 100; it names its instrument.
    #[schema(example = "38.5")]
    max_skin_celsius: Option<Exact>,
    /// The thermometer that measured the skin, which was set up on the case: instruments differ by
    /// degrees (Key, J Drugs Dermatol 2014;13:185).
    instrument_id: Option<Uuid>,
    /// The emissivity the instrument was set to, 0.01 to 1.
    #[schema(example = "0.98")]
    emissivity: Option<Exact>,
    /// How far the instrument was from the skin, 0 to 500.
    #[schema(example = "30")]
    distance_cm: Option<Exact>,
    /// Notes; never a patient's identity.
    #[schema(min_length = 1, max_length = 500)]
    notes: Option<String>,
}

impl Checked for EnergyBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/zone", &self.zone, 1, 100);
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
            self.instrument_id.is_some() == self.max_skin_celsius.is_some(),
            "/instrument_id",
            "must be given with a skin temperature, and with nothing else",
        );
        for (pointer, value, least, most) in [
            ("/emissivity", self.emissivity, "0.01", "1"),
            ("/distance_cm", self.distance_cm, "0", "500"),
        ] {
            if let Some(value) = value {
                errors.range(pointer, value, least, most);
                let measured = self.max_skin_celsius.is_some();
                errors.require(measured, pointer, "goes with a skin temperature");
            }
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
    /// The zone.
    zone: String,
    /// The scan that put the handpiece on the case.
    handpiece_scan_id: Uuid,
    /// The generator as its record read then.
    #[schema(example = "Generator 2 (EQ-0042, SN 00417)")]
    generator: String,
    /// The generator; none on records from before the register.
    #[serde(skip_serializing_if = "Option::is_none")]
    generator_id: Option<Uuid>,
    /// The power setting.
    power_percent: Exact,
    /// The set gas flow.
    #[serde(skip_serializing_if = "Option::is_none")]
    litre_per_minute: Option<Exact>,
    /// Passes.
    passes: i32,
    /// Seconds in which energy flowed.
    active_seconds: Exact,
    /// The highest skin temperature.
    #[serde(skip_serializing_if = "Option::is_none")]
    max_skin_celsius: Option<Exact>,
    /// The instrument that measured it, as its record read then.
    #[serde(skip_serializing_if = "Option::is_none")]
    instrument: Option<String>,
    /// The instrument; none on records from before the register.
    #[serde(skip_serializing_if = "Option::is_none")]
    instrument_id: Option<Uuid>,
    /// The emissivity it was set to.
    #[serde(skip_serializing_if = "Option::is_none")]
    emissivity: Option<Exact>,
    /// How far it was from the skin.
    #[serde(skip_serializing_if = "Option::is_none")]
    distance_cm: Option<Exact>,
    /// Notes.
    #[serde(skip_serializing_if = "Option::is_none")]
    notes: Option<String>,
    /// Who recorded it.
    recorded_by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// Energy on record beside the site's settings and end points.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyCompared {
    /// What was recorded.
    #[serde(flatten)]
    entry: EnergyEntry,
    /// The site's settings and end points that counted then and that it lies outside of.
    outside: Vec<EnergyLimit>,
}

/// The energy log of a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct EnergyLog {
    /// The entries, oldest first.
    entries: Vec<EnergyCompared>,
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
            zone: new.zone.clone(),
            handpiece_scan_id: new.handpiece,
            generator: entry.generator.clone(),
            generator_id: new.generator,
            power_percent: new.power_percent.into(),
            litre_per_minute: new.litre_per_minute.map(Exact),
            passes: new.passes,
            active_seconds: new.active_seconds.into(),
            max_skin_celsius: new.max_skin_celsius.map(Exact),
            instrument: entry.instrument.clone(),
            instrument_id: new.instrument,
            emissivity: new.emissivity.map(Exact),
            distance_cm: new.distance_cm.map(Exact),
            notes: new.notes.clone(),
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
            RecordEnergyRefusal::NoGenerator => {
                ApiError::fields(vec![FieldError::new("/generator_id", detail)])
            }
            RecordEnergyRefusal::NoInstrument => {
                ApiError::fields(vec![FieldError::new("/instrument_id", detail)])
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
        distance_cm: body.distance_cm.map(|distance| distance.0),
        emissivity: body.emissivity.map(|emissivity| emissivity.0),
        generator: Some(body.generator_id),
        handpiece: body.handpiece_scan_id,
        instrument: body.instrument_id,
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

fn compared((entry, limits): &(store::EnergyEntry, Vec<CountedLimit>)) -> EnergyCompared {
    let outside = limits.iter().filter(|one| one.is_left);
    EnergyCompared {
        entry: EnergyEntry::from(entry),
        outside: outside.map(|one| EnergyLimit::from(&one.limit)).collect(),
    }
}

/// Shows the energy log of a case with its sums of time, passes and gas, each entry beside the
/// site's settings and end points.
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
        entries: log.entries.iter().map(compared).collect(),
        active_seconds: log.active_seconds.into(),
        passes: log.passes,
        gas_litre: log.gas_litre.into(),
    }))
}
