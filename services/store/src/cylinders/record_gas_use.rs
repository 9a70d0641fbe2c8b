//! Recording gas by flow and time.

use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cylinders, gas_uses, uses};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::gas::{FlowTime, litres_used};
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// Records that gas of a cylinder flowed on a case: a set flow for a time, in one zone.
#[derive(Clone, Debug)]
pub struct RecordGasUse {
    /// The cylinder, whose label was scanned on the case.
    pub cylinder: Uuid,
    /// The case.
    pub case: Uuid,
    /// The zone, by the site's own list: 1 to 100 characters.
    pub zone: String,
    /// The set flow.
    pub litre_per_minute: Decimal,
    /// The time.
    pub minutes: Decimal,
}

/// Gas that flowed.
#[derive(Clone, Debug)]
pub struct GasUse {
    /// The record.
    pub id: Uuid,
    /// What was recorded.
    pub recorded: RecordGasUse,
    /// Flow times time.
    pub litre: Decimal,
    /// Who recorded it, as the ledger writes it.
    pub by: String,
    /// When it was recorded.
    pub at: Timestamp,
}

/// Why gas is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordGasUseRefusal {
    /// There is no such cylinder.
    #[error("there is no such cylinder")]
    NoSuchCylinder,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// Its label was not scanned on the case.
    #[error("the cylinder is not on this case; scan its label there first")]
    NotOnCase,
}

#[derive(Serialize)]
struct Data<'a> {
    case: Uuid,
    cylinder: Uuid,
    litre: Decimal,
    litre_per_minute: Decimal,
    minutes: Decimal,
    zone: &'a str,
}

impl Operation for RecordGasUse {
    type Permission = act::RecordGasUse;
    type Outcome = GasUse;
    type Refusal = RecordGasUseRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<GasUse, Refused<RecordGasUseRefusal>> {
        let cylinder: Option<(Uuid, Option<Uuid>)> = cylinders::table
            .find(self.cylinder)
            .select((cylinders::lot_id, cylinders::unit_id))
            .first(writing.connection)
            .await
            .optional()?;
        let cylinder = cylinder.ok_or(Refused::Because(RecordGasUseRefusal::NoSuchCylinder))?;
        add_to::<RecordGasUseRefusal>(writing, self.case).await?;
        let on_case = uses::table
            .filter(uses::lot_id.eq(cylinder.0))
            .filter(uses::unit_id.is_not_distinct_from(cylinder.1))
            .filter(uses::case_id.eq(self.case))
            .filter(uses::struck_at.is_null());
        if !diesel::select(exists(on_case))
            .get_result(writing.connection)
            .await?
        {
            return Err(Refused::Because(RecordGasUseRefusal::NotOnCase));
        }
        let time = FlowTime {
            litre_per_minute: self.litre_per_minute,
            minutes: self.minutes,
        };
        let gas = GasUse {
            id: writing.new_id(),
            recorded: self.clone(),
            litre: litres_used(&[time]).ok_or(StoreError::Unfit)?,
            by: writing.actor.to_string(),
            at: writing.at,
        };
        self.keep(writing, &gas).await?;
        let data = Data {
            case: self.case,
            cylinder: self.cylinder,
            litre: gas.litre,
            litre_per_minute: self.litre_per_minute,
            minutes: self.minutes,
            zone: &self.zone,
        };
        let subject = Subject::of_case("gas_use", gas.id, self.case);
        writing.append("record_gas_use", subject, &data)?;
        Ok(gas)
    }
}

impl RecordGasUse {
    async fn keep(&self, writing: &mut Writing<'_>, gas: &GasUse) -> Result<(), StoreError> {
        diesel::insert_into(gas_uses::table)
            .values((
                gas_uses::facility_id.eq(writing.facility.id),
                gas_uses::id.eq(gas.id),
                gas_uses::cylinder_id.eq(self.cylinder),
                gas_uses::case_id.eq(self.case),
                gas_uses::zone.eq(&self.zone),
                gas_uses::litre_per_minute.eq(self.litre_per_minute),
                gas_uses::minutes.eq(self.minutes),
                gas_uses::actor.eq(&gas.by),
                gas_uses::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        diesel::update(cylinders::table.find(self.cylinder))
            .set(cylinders::version.eq(cylinders::version + 1))
            .execute(writing.connection)
            .await?;
        diesel::update(cylinders::table.find(self.cylinder))
            .filter(cylinders::opened_at.is_null())
            .set(cylinders::opened_at.eq(writing.at.to_diesel()))
            .execute(writing.connection)
            .await?;
        Ok(())
    }
}

/// The gas that flowed on a case, in the order it was recorded.
pub(crate) async fn gas_of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<GasUse>, StoreError> {
    type Row = (
        Uuid,
        Uuid,
        String,
        Decimal,
        Decimal,
        String,
        jiff_diesel::Timestamp,
    );
    let rows: Vec<Row> = gas_uses::table
        .filter(gas_uses::case_id.eq(case))
        .order(gas_uses::id)
        .select((
            gas_uses::id,
            gas_uses::cylinder_id,
            gas_uses::zone,
            gas_uses::litre_per_minute,
            gas_uses::minutes,
            gas_uses::actor,
            gas_uses::at,
        ))
        .load(connection)
        .await?;
    let gas_use = |(id, cylinder, zone, litre_per_minute, minutes, by, at): Row| {
        let time = FlowTime {
            litre_per_minute,
            minutes,
        };
        Ok(GasUse {
            id,
            recorded: RecordGasUse {
                cylinder,
                case,
                zone,
                litre_per_minute,
                minutes,
            },
            litre: litres_used(&[time]).ok_or(StoreError::Unfit)?,
            by,
            at: at.to_jiff(),
        })
    };
    rows.into_iter().map(gas_use).collect()
}
