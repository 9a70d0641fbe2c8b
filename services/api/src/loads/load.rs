//! A load in the words of the API.

use crate::http::Exact;
use crate::http::answer::render;
use actix_web::http::StatusCode;
use lotwarden_domain::loads::{IndicatorKind, IndicatorResult, LoadKind};
use lotwarden_store::loads as store;
use lotwarden_store::moment::instant_text;
use lotwarden_store::{Receipt, Rendered};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// One cycle of a sterilizer as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Load {
    /// The load.
    id: Uuid,
    /// The sterilizer.
    sterilizer_id: Uuid,
    /// Its name.
    #[schema(example = "Autoclave 1")]
    sterilizer_name: String,
    /// The cycle or load number.
    #[schema(example = "L104")]
    cycle: String,
    /// `terminal` or `immediate_use`.
    #[schema(value_type = String, example = "terminal")]
    kind: LoadKind,
    /// The case of an immediate-use cycle.
    #[serde(skip_serializing_if = "Option::is_none")]
    case_id: Option<Uuid>,
    /// Why it was an immediate-use cycle.
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<String>,
    /// When it started.
    #[schema(format = DateTime)]
    started_at: String,
    /// The exposure time.
    exposure_minutes: Exact,
    /// The exposure temperature.
    exposure_celsius: Exact,
    /// Who ran it.
    operator: String,
    /// `held`, `released` or `not_released`.
    #[schema(example = "released")]
    status: &'static str,
    /// Its release.
    #[serde(skip_serializing_if = "Option::is_none")]
    released: Option<LoadReleased>,
    /// Why nothing of it is used.
    #[serde(skip_serializing_if = "Option::is_none")]
    held: Option<LoadHeld>,
    /// What was in it.
    packs: Vec<Pack>,
    /// What its indicators showed, oldest first.
    indicators: Vec<Indicator>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// A release.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadReleased {
    /// Who.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// A bar on a load.
#[derive(Debug, Serialize, ToSchema)]
pub struct LoadHeld {
    /// Since when.
    #[schema(format = DateTime)]
    at: String,
    /// Why.
    #[schema(example = "positive biological indicator in Autoclave 1, cycle L104")]
    reason: String,
}

/// A pack.
#[derive(Debug, Serialize, ToSchema)]
pub struct Pack {
    /// The pack.
    id: Uuid,
    /// Its lot-control label.
    label: String,
    /// What it is.
    name: String,
    /// Whether an implant is in it.
    implant: bool,
    /// The reusable pieces in it.
    units: Vec<PieceInPack>,
}

/// A piece in a pack.
#[derive(Debug, Serialize, ToSchema)]
pub struct PieceInPack {
    /// The piece.
    unit_id: Uuid,
    /// Its serial.
    serial: String,
    /// Its product's name.
    product_name: String,
    /// The number of this cycle in its life.
    cycle: i32,
}

/// What an indicator showed.
#[derive(Debug, Serialize, ToSchema)]
pub struct Indicator {
    /// `mechanical`, `chemical` or `biological`.
    #[schema(value_type = String, example = "biological")]
    kind: IndicatorKind,
    /// `good`, `not_good`, `negative` or `positive`.
    #[schema(value_type = String, example = "negative")]
    result: IndicatorResult,
    /// Whether it is the test that follows a positive one.
    repeat: bool,
    /// Who read it.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// A case that a load reached, without the patient's identity.
#[derive(Debug, Serialize, ToSchema)]
pub struct Reached {
    /// The load.
    load_id: Uuid,
    /// The case.
    case_id: Uuid,
    /// The patient, by an id that says nothing of who it is.
    patient_id: Uuid,
    /// The pack.
    #[serde(skip_serializing_if = "Option::is_none")]
    pack_id: Option<Uuid>,
    /// The piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// The scan that put the piece on the case.
    #[serde(skip_serializing_if = "Option::is_none")]
    scan_id: Option<Uuid>,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

/// The answer to a change of a load.
pub(super) fn changed(status: StatusCode) -> impl Fn(&store::Load, Receipt) -> Rendered {
    move |load, receipt| render(status, &Load::from(load), receipt, Some(load.version))
}

impl From<&store::Load> for Load {
    fn from(load: &store::Load) -> Self {
        let status = match (&load.held, &load.released) {
            (Some(_), _) => "held",
            (None, Some(_)) => "released",
            (None, None) => "not_released",
        };
        Self {
            id: load.id,
            sterilizer_id: load.sterilizer.0,
            sterilizer_name: load.sterilizer.1.clone(),
            cycle: load.cycle.clone(),
            kind: load.kind,
            case_id: load.case,
            reason: load.reason.clone(),
            started_at: instant_text(load.started_at),
            exposure_minutes: load.exposure_minutes.into(),
            exposure_celsius: load.exposure_celsius.into(),
            operator: load.operator.clone(),
            status,
            released: load.released.as_ref().map(|(by, at)| LoadReleased {
                by: by.clone(),
                at: instant_text(*at),
            }),
            held: load.held.as_ref().map(|(at, reason)| LoadHeld {
                at: instant_text(*at),
                reason: reason.clone(),
            }),
            packs: load.packs.iter().map(Pack::from).collect(),
            indicators: load.indicators.iter().map(Indicator::from).collect(),
            version: load.version,
        }
    }
}

impl From<&store::Pack> for Pack {
    fn from(pack: &store::Pack) -> Self {
        let units = pack.units.iter().map(|piece| PieceInPack {
            unit_id: piece.unit,
            serial: piece.serial.clone(),
            product_name: piece.product_name.clone(),
            cycle: piece.cycle,
        });
        Self {
            id: pack.id,
            label: pack.label.clone(),
            name: pack.name.clone(),
            implant: pack.implant,
            units: units.collect(),
        }
    }
}

impl From<&store::Indicator> for Indicator {
    fn from(indicator: &store::Indicator) -> Self {
        Self {
            kind: indicator.kind,
            result: indicator.result,
            repeat: indicator.repeat,
            by: indicator.by.clone(),
            at: instant_text(indicator.at),
        }
    }
}

impl From<&store::Reached> for Reached {
    fn from(reached: &store::Reached) -> Self {
        Self {
            load_id: reached.load,
            case_id: reached.case,
            patient_id: reached.patient,
            pack_id: reached.pack,
            unit_id: reached.unit,
            scan_id: reached.scan,
            at: instant_text(reached.at.to_jiff()),
        }
    }
}
