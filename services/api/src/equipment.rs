//! Equipment: the register, services and filters, and equipment on cases.

mod add_equipment;
mod change_equipment;
mod change_filter;
mod list_equipment;
mod out_of_service;
mod record_run;
mod record_service;
mod show_cases;
mod use_equipment;

use crate::app::App;
use crate::cases::Finding;
use crate::http::Exact;
use crate::problem::ApiError;
use jiff::civil::Date;
use lotwarden_domain::equipment::{AsFound, EquipmentKind, ServiceKind, ThermometerType};
use lotwarden_domain::policy::SitePolicy;
use lotwarden_domain::rules::{self, judge_equipment};
use lotwarden_store::access::show_policy;
use lotwarden_store::equipment as store;
use lotwarden_store::moment::instant_text;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_equipment::add_equipment)
        .service(list_equipment::list_equipment)
        .service(list_equipment::show_equipment)
        .service(change_equipment::change_equipment)
        .service(record_service::record_service)
        .service(out_of_service::take_out_of_service)
        .service(out_of_service::return_equipment)
        .service(change_filter::change_filter)
        .service(record_run::record_run)
        .service(show_cases::show_equipment_cases)
        .service(use_equipment::use_equipment)
        .service(use_equipment::strike_equipment)
        .service(use_equipment::list_case_equipment);
}

/// The day and the site's settings that equipment is judged by.
struct Due {
    today: Date,
    policy: SitePolicy,
}

impl Due {
    async fn of(app: &App, facility: Uuid) -> Result<Self, ApiError> {
        let today = app.today(facility).await?;
        let mut reading = app.reading(facility).await?;
        let policy = show_policy(&mut reading).await?.settings;
        Ok(Self { today, policy })
    }
}

/// A piece of equipment as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Equipment {
    /// The piece.
    id: Uuid,
    /// The site's own number.
    #[schema(example = "EQ-0042")]
    asset_number: String,
    /// What it is for.
    #[schema(value_type = String, example = "generator")]
    kind: EquipmentKind,
    /// How a thermometer measures.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "infrared_camera")]
    thermometer_type: Option<ThermometerType>,
    /// Its name.
    #[schema(example = "Generator 2")]
    name: String,
    /// Name, asset number and serial, as records name it.
    #[schema(example = "Generator 2 (EQ-0042, SN 00417)")]
    described: String,
    /// The maker's serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<String>,
    /// What a scanner reads from the maker's label.
    #[serde(skip_serializing_if = "Option::is_none")]
    label: Option<String>,
    /// Where it stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    location_id: Option<Uuid>,
    /// The place's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    location_name: Option<String>,
    /// Since when it is out of service.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    out_of_service_since: Option<String>,
    /// Why.
    #[serde(skip_serializing_if = "Option::is_none")]
    out_of_service_reason: Option<String>,
    /// The last day of its maintenance.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    maintenance_due_on: Option<Date>,
    /// The last day of its calibration.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    calibration_due_on: Option<Date>,
    /// Maintenance and calibration, newest first.
    services: Vec<EquipmentService>,
    /// The filter that is in it.
    #[serde(skip_serializing_if = "Option::is_none")]
    filter: Option<EquipmentFilter>,
    /// What there is to look at today.
    #[schema(value_type = Vec<Finding>)]
    findings: Vec<rules::Finding>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// Maintenance or calibration.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EquipmentService {
    /// `maintenance` or `calibration`.
    #[schema(value_type = String, example = "calibration", pattern = "^(maintenance|calibration)$")]
    kind: ServiceKind,
    /// When it was done.
    #[schema(value_type = String, format = Date, example = "2026-01-15")]
    done_on: Date,
    /// The last day it is good for.
    #[schema(value_type = String, format = Date, example = "2027-01-15")]
    due_on: Date,
    /// Who did it: a person or a firm.
    #[schema(example = "Brindlemoor service", min_length = 1, max_length = 200)]
    done_by: String,
    /// The certificate's number.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "C-26-0117", min_length = 1, max_length = 100)]
    certificate: Option<String>,
    /// What a calibration found before anything was adjusted: `in_tolerance` or
    /// `out_of_tolerance`. With a calibration only, and always with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "in_tolerance")]
    as_found: Option<AsFound>,
}

/// The filter in a piece of equipment.
#[derive(Debug, Serialize, ToSchema)]
pub struct EquipmentFilter {
    /// Its identifier or lot.
    filter: String,
    /// The maker's life in hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    life_hours: Option<Exact>,
    /// The maker's life in cases.
    #[serde(skip_serializing_if = "Option::is_none")]
    life_cases: Option<u32>,
    /// What the site expects a case to use, in hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    case_hours: Option<Exact>,
    /// When it was put in.
    #[schema(format = DateTime)]
    since: String,
    /// Hours it ran since.
    hours_used: Exact,
    /// Cases it was on since.
    cases_used: u32,
}

impl Equipment {
    fn of(piece: &store::Equipment, due: &Due) -> Self {
        let new = &piece.new;
        let due_on = |kind| piece.newest(kind).map(|service| service.due_on);
        let out = piece.out_of_service.as_ref();
        Self {
            id: piece.id,
            asset_number: new.asset_number.clone(),
            kind: new.kind,
            thermometer_type: new.thermometer_type,
            name: new.name.clone(),
            described: new.described(),
            serial: new.serial.clone(),
            label: new.label.clone(),
            location_id: new.location,
            location_name: piece.location_name.clone(),
            out_of_service_since: out.map(|(since, _)| instant_text(*since)),
            out_of_service_reason: out.map(|(_, why)| why.clone()),
            maintenance_due_on: due_on(ServiceKind::Maintenance),
            calibration_due_on: due_on(ServiceKind::Calibration),
            services: piece.services.iter().map(EquipmentService::from).collect(),
            filter: piece.filter.as_ref().map(EquipmentFilter::from),
            findings: judge_equipment(&piece.facts(due.today, &due.policy)),
            version: piece.version,
        }
    }
}

impl From<&store::NewService> for EquipmentService {
    fn from(service: &store::NewService) -> Self {
        Self {
            kind: service.kind,
            done_on: service.done_on,
            due_on: service.due_on,
            done_by: service.done_by.clone(),
            certificate: service.certificate.clone(),
            as_found: service.as_found,
        }
    }
}

impl From<&store::Filter> for EquipmentFilter {
    fn from(filter: &store::Filter) -> Self {
        Self {
            filter: filter.new.filter.clone(),
            life_hours: filter.new.life_hours.map(Exact),
            life_cases: filter.new.life_cases,
            case_hours: filter.new.case_hours.map(Exact),
            since: instant_text(filter.since),
            hours_used: filter.hours.into(),
            cases_used: filter.cases,
        }
    }
}
