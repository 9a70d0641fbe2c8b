//! Drugs as their labels print them, and multi-dose vials from their first puncture.

mod describe_drug;
mod discard_vial;
mod open_vial;
mod rows;

pub use describe_drug::{DescribeDrug, DescribeDrugRefusal, DrugFacts, list_drugs};
pub use discard_vial::{DiscardVial, DiscardVialRefusal};
pub use open_vial::{OpenVial, OpenVialRefusal};
pub use rows::list_vials;
pub(crate) use rows::{Asked, draw, of};

use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::rules::VialFacts;
use rust_decimal::Decimal;
use uuid::Uuid;

/// A multi-dose vial.
#[derive(Clone, Debug)]
pub struct Vial {
    /// The vial.
    pub id: Uuid,
    /// The product, by id and name.
    pub product: (Uuid, String),
    /// The lot, by id and number.
    pub lot: (Uuid, Option<String>),
    /// The container, when its label has a serial.
    pub unit: Option<Uuid>,
    /// What is written on the container.
    pub name: String,
    /// The day of its first puncture.
    pub punctured_on: Date,
    /// The last usable day.
    pub last_day: Date,
    /// What it held.
    pub volume_ml: Decimal,
    /// What was drawn into mixes.
    pub drawn_ml: Decimal,
    /// Who punctured it, as the ledger writes it.
    pub opened_by: String,
    /// When that was put on record.
    pub opened_at: Timestamp,
    /// When it was discarded, and why.
    pub discarded: Option<(Timestamp, String)>,
}

impl Vial {
    /// What is left in it.
    #[must_use]
    pub fn left_ml(&self) -> Decimal {
        self.volume_ml - self.drawn_ml
    }

    /// What the rules ask about it.
    #[must_use]
    pub fn facts(&self, certain: bool) -> VialFacts<'_> {
        VialFacts {
            name: &self.name,
            punctured_on: self.punctured_on,
            last_day: self.last_day,
            certain,
        }
    }
}
