//! Routine checks of the site: its own list, what was found, and what was missed.

mod add_routine;
mod list_routines;
mod record_routine;
mod rows;

pub use add_routine::{AddRoutine, AddRoutineRefusal, EndRoutine, EndRoutineRefusal};
pub use list_routines::{RoutineStanding, StandingPeriod, list_records, standing};
pub use record_routine::{
    ConfirmRoutine, ConfirmRoutineRefusal, RecordRoutine, RecordRoutineRefusal,
};

use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::routines::{Asked, Every};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A routine check as a site puts it on its list; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewRoutine {
    /// The values it asks for.
    pub asked: Vec<Asked>,
    /// How often.
    pub every: Every,
    /// Where.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub location: Option<Uuid>,
    /// What is checked: 1 to 200 characters.
    pub name: String,
    /// Where the site has it from: 3 to 200 characters.
    pub source: String,
    /// Whether a second person confirms it.
    pub two_people: bool,
}

/// A routine check.
#[derive(Clone, Debug)]
pub struct Routine {
    /// The check.
    pub id: Uuid,
    /// What is on the list.
    pub new: NewRoutine,
    /// The place's name.
    pub location_name: Option<String>,
    /// The first day it is asked for.
    pub starts_on: Date,
    /// When it ended, and why.
    pub ended: Option<(Date, String)>,
}

/// A value as it was found.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Found {
    /// The value's name.
    pub name: String,
    /// As it was read.
    pub value: String,
}

/// What a check found.
#[derive(Clone, Debug)]
pub struct RoutineRecord {
    /// The record.
    pub id: Uuid,
    /// The check.
    pub routine: Uuid,
    /// When it was done.
    pub done_at: Timestamp,
    /// The civil day of that.
    pub done_on: Date,
    /// Whether it was written down after its period was over.
    pub late: bool,
    /// The values.
    pub found: Vec<Found>,
    /// Whether one is out of its limits.
    pub out_of_limits: bool,
    /// What was done about it.
    pub action: Option<String>,
    /// Who recorded it, and when.
    pub recorded: (Uuid, Timestamp),
    /// Who confirmed it, and when.
    pub confirmed: Option<(Uuid, Timestamp)>,
}
