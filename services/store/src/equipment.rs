//! Equipment: the register, its services and filters, and the cases it was on.

mod add_equipment;
mod change_equipment;
mod change_filter;
mod out_of_service;
mod record_run;
mod record_service;
mod rows;
mod show_cases;
mod use_equipment;

pub use add_equipment::{AddEquipment, AddEquipmentRefusal};
pub use change_equipment::{ChangeEquipment, ChangeEquipmentRefusal};
pub use change_filter::{ChangeFilter, ChangeFilterRefusal, NewFilter};
pub use out_of_service::{ReturnEquipment, ServiceStateRefusal, TakeOutOfService};
pub(crate) use record_run::runs_of_case;
pub use record_run::{RecordRun, RecordRunRefusal, Run};
pub use record_service::{NewService, RecordService, RecordServiceRefusal};
pub(crate) use rows::{Asked, of};
pub use rows::{list, show};
pub use show_cases::{CaseWithEquipment, EquipmentCases, NoSuchEquipment, ShowEquipmentCases};
pub use use_equipment::{
    EquipmentUse, Named, StrikeEquipment, StrikeEquipmentRefusal, UseEquipment,
    UseEquipmentRefusal, list_on_case,
};
pub(crate) use use_equipment::{of_case, on_case};

use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::equipment::{EquipmentKind, FilterLife, ServiceKind, ThermometerType};
use lotwarden_domain::policy::SitePolicy;
use lotwarden_domain::rules::EquipmentFacts;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// What a site puts on record of a piece of equipment; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewEquipment {
    /// The site's own number, on a sticker: 1 to 50 characters.
    pub asset_number: String,
    /// What it is for.
    pub kind: EquipmentKind,
    /// What a scanner reads from the maker's label.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub label: Option<String>,
    /// Where it stands.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub location: Option<Uuid>,
    /// Its name: 1 to 200 characters.
    pub name: String,
    /// The maker's serial.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub serial: Option<String>,
    /// How it measures; with a thermometer only, and always with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub thermometer_type: Option<ThermometerType>,
}

impl NewEquipment {
    /// As a record names it: name, asset number and serial.
    #[must_use]
    pub fn described(&self) -> String {
        described(&self.name, &self.asset_number, self.serial.as_deref())
    }
}

fn described(name: &str, asset_number: &str, serial: Option<&str>) -> String {
    let serial = serial.map(|serial| format!(", SN {serial}"));
    format!("{name} ({asset_number}{})", serial.unwrap_or_default())
}

/// A piece of equipment as it stands.
#[derive(Clone, Debug)]
pub struct Equipment {
    /// The piece.
    pub id: Uuid,
    /// What is on record of it.
    pub new: NewEquipment,
    /// The name of the place where it stands.
    pub location_name: Option<String>,
    /// Since when it is out of service, and why.
    pub out_of_service: Option<(Timestamp, String)>,
    /// Its services, newest first.
    pub services: Vec<NewService>,
    /// The filter that is in it.
    pub filter: Option<Filter>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// The filter in a piece of equipment.
#[derive(Clone, Debug)]
pub struct Filter {
    /// What was put in.
    pub new: NewFilter,
    /// When.
    pub since: Timestamp,
    /// Hours it ran since.
    pub hours: Decimal,
    /// Cases it was on since.
    pub cases: u32,
}

impl Equipment {
    /// The newest service of a kind.
    #[must_use]
    pub fn newest(&self, kind: ServiceKind) -> Option<&NewService> {
        self.services.iter().find(|service| service.kind == kind)
    }

    /// What the rules ask about it on a day.
    #[must_use]
    pub fn facts<'a>(&'a self, today: Date, policy: &'a SitePolicy) -> EquipmentFacts<'a> {
        let due_on = |kind| self.newest(kind).map(|service| service.due_on);
        EquipmentFacts {
            today,
            policy,
            out_of_service: self.out_of_service.as_ref().map(|(_, why)| why.as_str()),
            maintenance_due_on: due_on(ServiceKind::Maintenance),
            calibration_due_on: due_on(ServiceKind::Calibration),
            measures: self.new.kind == EquipmentKind::Thermometer,
            filter: self.filter.as_ref().and_then(Filter::life),
            filters: self.new.kind == EquipmentKind::SmokeEvacuator,
        }
    }
}

impl Filter {
    /// Its life and what of it is used.
    #[must_use]
    pub fn life(&self) -> Option<FilterLife> {
        let hours = self.new.life_hours.map(|life| FilterLife::Hours {
            life,
            used: self.hours,
            case: self.new.case_hours,
        });
        let cases = self.new.life_cases.map(|life| FilterLife::Cases {
            life,
            used: self.cases,
        });
        hours.or(cases)
    }
}
