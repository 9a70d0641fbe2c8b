//! Gas cylinders: each fill of one, its gauge readings, and the gas that flowed on cases.

mod add_cylinder;
mod list_cylinders;
mod record_gas_use;
mod record_gauge;
mod rows;

pub use add_cylinder::{AddCylinder, AddCylinderRefusal, NewCylinder};
pub use list_cylinders::{gtin, list, show};
pub(crate) use record_gas_use::gas_of_case;
pub use record_gas_use::{GasUse, RecordGasUse, RecordGasUseRefusal};
pub use record_gauge::{RecordGauge, RecordGaugeRefusal};
pub(crate) use rows::{Asked, of};

use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::gas::{
    Band, Cylinder as Container, CylinderFacts, CylinderState, Gas, Gauge, RetestMark, bar_from_psi,
};
use rust_decimal::Decimal;
use rust_decimal::prelude::ToPrimitive;
use uuid::Uuid;

/// One fill of a gas cylinder as it stands.
#[derive(Clone, Debug)]
pub struct Cylinder {
    /// The fill.
    pub id: Uuid,
    /// What was put on record of it.
    pub new: NewCylinder,
    /// The product's name.
    pub product_name: String,
    /// The fill lot as printed.
    pub lot_number: Option<String>,
    /// The outdate.
    pub expires_on: Option<Date>,
    /// The serial of the container.
    pub serial: Option<String>,
    /// The product.
    pub product: Uuid,
    /// When gas of this fill flowed first.
    pub opened_at: Option<Timestamp>,
    /// The newest gauge reading.
    pub reading: Option<GaugeReading>,
    /// Litres by flow and time in all.
    pub used_litre: Decimal,
    /// Litres by flow and time since the newest gauge reading.
    pub used_since_litre: Decimal,
    /// Litres by flow and time on each case, oldest first.
    pub by_case: Vec<(Uuid, Decimal)>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// What a gauge showed.
#[derive(Clone, Copy, Debug)]
pub struct GaugeReading {
    /// Pounds per square inch.
    pub gauge_psi: Decimal,
    /// The temperature of the cylinder.
    pub celsius: Decimal,
    /// The flow that minutes are wanted for.
    pub litre_per_minute: Option<Decimal>,
    /// When.
    pub at: Timestamp,
}

impl Cylinder {
    /// Whether the name was read back from the label, and is the product's.
    #[must_use]
    pub fn label_read_back(&self) -> bool {
        let product = self.product_name.to_lowercase();
        let name = self.new.name_read_back.as_deref();
        name.is_some_and(|name| product.contains(&name.trim().to_lowercase()))
    }

    /// The retest mark.
    #[must_use]
    pub fn retest(&self) -> RetestMark {
        RetestMark {
            month: self.new.retest_month,
            star: self.new.star,
        }
    }

    /// Litres above the reserve at the newest reading; none without one, or for another gas.
    #[must_use]
    pub fn litres(&self) -> Option<Band> {
        let reading = self.reading?;
        let container = Container {
            water_volume_litre: self.new.water_volume_litre.to_f64()?,
            celsius: reading.celsius.to_f64()?,
            reserve_bar: bar(self.new.reserve_psi)?,
        };
        let gauge = Gauge {
            reading_bar: bar(reading.gauge_psi)?,
            accuracy_percent: self.new.gauge_accuracy_percent.to_f64()?,
            full_scale_bar: bar(self.new.gauge_full_scale_psi)?,
        };
        (self.new.gas == Gas::Helium).then(|| container.litres(gauge))
    }

    /// Litres above the reserve now: at the newest reading, less what flowed since.
    #[must_use]
    pub fn left(&self) -> Option<Band> {
        Some(self.litres()?.less(self.used_since_litre.to_f64()?))
    }

    /// The state its tag shows; none without a reading.
    #[must_use]
    pub fn state(&self) -> Option<CylinderState> {
        let gauge = bar(self.reading?.gauge_psi)?;
        let opened = self.opened_at.is_some();
        Some(CylinderState::of(opened, gauge, bar(self.new.reserve_psi)?))
    }

    /// What the rules ask about it on a day.
    #[must_use]
    pub fn facts(&self, today: Date) -> CylinderFacts {
        CylinderFacts {
            left: self.left(),
            expected_litres: self.new.expected_litre.and_then(|litre| litre.to_f64()),
            retest: self.retest(),
            filled_on: self.new.filled_on,
            expires_on: self.expires_on,
            label_read_back: self.label_read_back(),
            today,
        }
    }
}

fn bar(psi: Decimal) -> Option<f64> {
    psi.to_f64().map(bar_from_psi)
}
