//! Sterile processing: sterilizers, loads, packs, indicators, cleaning, and whom a load reached.

mod add_sterilizer;
mod clear_load;
mod list_loads;
mod processed;
mod reached;
mod record_cleaning;
mod record_indicator;
mod record_load;
mod release_load;
mod return_sterilizer;
mod rows;
mod set_cycle_limit;
mod standing;

pub use add_sterilizer::{AddSterilizer, AddSterilizerRefusal, Sterilizer, list_sterilizers};
pub use clear_load::{ClearLoad, ClearLoadRefusal};
pub use list_loads::{list, show};
pub(crate) use processed::{LimitRow, Processed, limits, processed};
pub use reached::Reached;
pub(crate) use reached::reached;
pub use record_cleaning::{RecordCleaning, RecordCleaningRefusal};
pub use record_indicator::{IndicatorRecorded, RecordIndicator, RecordIndicatorRefusal};
pub use record_load::{NewLoad, NewPack, RecordLoad, RecordLoadRefusal};
pub use release_load::{ReleaseLoad, ReleaseLoadRefusal};
pub use return_sterilizer::{ReturnSterilizer, ReturnSterilizerRefusal};
pub use set_cycle_limit::{SetCycleLimit, SetCycleLimitRefusal};

use jiff::Timestamp;
use lotwarden_domain::loads::{Biological, IndicatorKind, IndicatorResult, LoadKind};
use rust_decimal::Decimal;
use uuid::Uuid;

/// One cycle of a sterilizer as it stands.
#[derive(Clone, Debug)]
pub struct Load {
    /// The load.
    pub id: Uuid,
    /// The sterilizer, by id and name.
    pub sterilizer: (Uuid, String),
    /// The cycle or load number.
    pub cycle: String,
    /// Terminal or immediate-use.
    pub kind: LoadKind,
    /// The case of an immediate-use cycle.
    pub case: Option<Uuid>,
    /// Why it was an immediate-use cycle.
    pub reason: Option<String>,
    /// When it started.
    pub started_at: Timestamp,
    /// The exposure time.
    pub exposure_minutes: Decimal,
    /// The exposure temperature.
    pub exposure_celsius: Decimal,
    /// Who ran it, as the ledger writes it.
    pub operator: String,
    /// Who released it, and when.
    pub released: Option<(String, Timestamp)>,
    /// Since when it is held, and why.
    pub held: Option<(Timestamp, String)>,
    /// What was in it.
    pub packs: Vec<Pack>,
    /// What its indicators showed, oldest first.
    pub indicators: Vec<Indicator>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// A pack of a load.
#[derive(Clone, Debug)]
pub struct Pack {
    /// The pack.
    pub id: Uuid,
    /// Its lot-control label.
    pub label: String,
    /// What it is.
    pub name: String,
    /// Whether an implant is in it.
    pub implant: bool,
    /// The reusable pieces in it.
    pub units: Vec<PackUnit>,
}

/// A piece in a pack.
#[derive(Clone, Debug)]
pub struct PackUnit {
    /// The piece.
    pub unit: Uuid,
    /// Its serial.
    pub serial: String,
    /// Its product's name.
    pub product_name: String,
    /// The number of this cycle in its life.
    pub cycle: i32,
}

/// What an indicator showed.
#[derive(Clone, Debug)]
pub struct Indicator {
    /// Which.
    pub kind: IndicatorKind,
    /// What.
    pub result: IndicatorResult,
    /// Whether it is the test that follows a positive one.
    pub repeat: bool,
    /// Who read it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

impl Load {
    /// What its biological indicator showed, repeats left out; positive where any was.
    #[must_use]
    pub fn biological(&self) -> Biological {
        self.biological_of(false)
    }

    /// What the repeat of a positive indicator showed.
    #[must_use]
    pub fn repeat(&self) -> Biological {
        self.biological_of(true)
    }

    fn biological_of(&self, repeat: bool) -> Biological {
        let own = self.indicators.iter();
        let mut own =
            own.filter(|each| each.kind == IndicatorKind::Biological && each.repeat == repeat);
        match own
            .clone()
            .any(|each| each.result == IndicatorResult::Positive)
        {
            true => Biological::Positive,
            false if own.next().is_some() => Biological::Negative,
            false => Biological::None,
        }
    }

    /// Whether the indicator was read and every reading of it was good.
    #[must_use]
    pub fn good(&self, kind: IndicatorKind) -> bool {
        let mut own = self.indicators.iter().filter(|each| each.kind == kind);
        let all = own.clone().all(|each| each.result == IndicatorResult::Good);
        own.next().is_some() && all
    }

    /// Whether an implant is in it.
    #[must_use]
    pub fn has_implant(&self) -> bool {
        self.packs.iter().any(|pack| pack.implant)
    }

    /// Its name for people.
    #[must_use]
    pub fn name(&self) -> String {
        format!("{}, cycle {}", self.sterilizer.1, self.cycle)
    }
}
