//! Recording what a gauge shows.

use super::{Asked, Cylinder, of};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cylinders, gauge_readings};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Records what the gauge of a cylinder shows, with its temperature.
#[derive(Clone, Copy, Debug)]
pub struct RecordGauge {
    /// The cylinder.
    pub cylinder: Uuid,
    /// Pounds per square inch.
    pub gauge_psi: Decimal,
    /// The temperature of the cylinder.
    pub celsius: Decimal,
    /// The flow that minutes are wanted for.
    pub litre_per_minute: Option<Decimal>,
}

/// Why a reading is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordGaugeRefusal {
    /// There is no such cylinder.
    #[error("there is no such cylinder")]
    NoSuchCylinder,
    /// The reading is beyond the scale.
    #[error("must not be more than the gauge's full scale")]
    BeyondScale,
}

#[derive(Serialize)]
struct Data {
    celsius: Decimal,
    gauge_psi: Decimal,
    #[serde(skip_serializing_if = "Option::is_none")]
    litre_per_minute: Option<Decimal>,
    reading: Uuid,
}

impl Operation for RecordGauge {
    type Permission = act::RecordGauge;
    type Outcome = Cylinder;
    type Refusal = RecordGaugeRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Cylinder, Refused<RecordGaugeRefusal>> {
        let scale: Option<Decimal> = cylinders::table
            .find(self.cylinder)
            .select(cylinders::gauge_full_scale_psi)
            .first(writing.connection)
            .await
            .optional()?;
        let scale = scale.ok_or(Refused::Because(RecordGaugeRefusal::NoSuchCylinder))?;
        if self.gauge_psi > scale {
            return Err(Refused::Because(RecordGaugeRefusal::BeyondScale));
        }
        let id = writing.new_id();
        diesel::insert_into(gauge_readings::table)
            .values((
                gauge_readings::facility_id.eq(writing.facility.id),
                gauge_readings::id.eq(id),
                gauge_readings::cylinder_id.eq(self.cylinder),
                gauge_readings::gauge_psi.eq(self.gauge_psi),
                gauge_readings::celsius.eq(self.celsius),
                gauge_readings::litre_per_minute.eq(self.litre_per_minute),
                gauge_readings::actor.eq(writing.actor.to_string()),
                gauge_readings::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        diesel::update(cylinders::table.find(self.cylinder))
            .set(cylinders::version.eq(cylinders::version + 1))
            .execute(writing.connection)
            .await?;
        let data = Data {
            celsius: self.celsius,
            gauge_psi: self.gauge_psi,
            litre_per_minute: self.litre_per_minute,
            reading: id,
        };
        let subject = Subject::new("cylinder", self.cylinder);
        writing.append("record_gauge", subject, &data)?;
        let read = of(writing.connection, Asked::One(self.cylinder)).await?;
        Ok(read.into_iter().next().ok_or(StoreError::Unfit)?)
    }
}
