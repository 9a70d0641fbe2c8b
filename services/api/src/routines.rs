//! Routine checks of the site: its own list, what was found, and what was missed.

mod add_routine;
mod list_routines;
mod record_routine;

use crate::http::Exact;
use jiff::civil::Date;
use lotwarden_domain::routines::{Asked, AskedKind, Every};
use lotwarden_store::routines as store;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(add_routine::add_routine)
        .service(add_routine::end_routine)
        .service(list_routines::list_routines)
        .service(list_routines::list_routine_records)
        .service(record_routine::record_routine)
        .service(record_routine::confirm_routine);
}

/// A value that a check asks for.
#[derive(Clone, Debug, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RoutineValue {
    /// Its name.
    #[schema(example = "Temperature", min_length = 1, max_length = 100)]
    name: String,
    /// `number`, `yes_no` or `text`; a `no` is out of limits.
    #[schema(value_type = String, example = "number", pattern = "^(number|yes_no|text)$")]
    kind: AskedKind,
    /// The unit of a number.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "°C", min_length = 1, max_length = 20)]
    unit: Option<String>,
    /// The lowest number that is in limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "2")]
    low: Option<Exact>,
    /// The highest number that is in limits.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "8")]
    high: Option<Exact>,
}

/// A routine check of the site's list.
#[derive(Debug, Serialize, ToSchema)]
pub struct Routine {
    /// The check.
    id: Uuid,
    /// What is checked.
    #[schema(example = "Drug refrigerator")]
    name: String,
    /// Where.
    #[serde(skip_serializing_if = "Option::is_none")]
    location_id: Option<Uuid>,
    /// The place's name.
    #[serde(skip_serializing_if = "Option::is_none")]
    location_name: Option<String>,
    /// `day`, `operating_day`, `week` (from Monday) or `month`.
    #[schema(value_type = String, example = "day")]
    every: Every,
    /// Whether a second person confirms it.
    two_people: bool,
    /// The values it asks for.
    values: Vec<RoutineValue>,
    /// Where the site has it from.
    source: String,
    /// The first day it is asked for.
    #[schema(value_type = String, format = Date)]
    starts_on: Date,
    /// The day it ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    ended_on: Option<Date>,
    /// Why it ended.
    #[serde(skip_serializing_if = "Option::is_none")]
    end_reason: Option<String>,
}

impl From<&store::Routine> for Routine {
    fn from(routine: &store::Routine) -> Self {
        let new = &routine.new;
        let value = |asked: &Asked| RoutineValue {
            name: asked.name.clone(),
            kind: asked.kind,
            unit: asked.unit.clone(),
            low: asked.low.map(Exact),
            high: asked.high.map(Exact),
        };
        Self {
            id: routine.id,
            name: new.name.clone(),
            location_id: new.location,
            location_name: routine.location_name.clone(),
            every: new.every,
            two_people: new.two_people,
            values: new.asked.iter().map(value).collect(),
            source: new.source.clone(),
            starts_on: routine.starts_on,
            ended_on: routine.ended.as_ref().map(|(ended, _)| *ended),
            end_reason: routine.ended.as_ref().map(|(_, why)| why.clone()),
        }
    }
}
