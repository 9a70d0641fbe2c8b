//! Putting a load on record.

use super::add_sterilizer::find as sterilizer;
use super::rows::find;
use super::{Load, add_sterilizer};
use crate::cases::{NotOpen, add_to};
use crate::database::{StoreError, violates};
use crate::moment::instant_text;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{loads, pack_units, packs, products, units};
use diesel::dsl::max;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::catalogue::UseClass;
use lotwarden_domain::loads::LoadKind;
use rust_decimal::Decimal;
use serde::{Serialize, Serializer};
use uuid::Uuid;

/// A cycle with its specific contents; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewLoad {
    /// The case of an immediate-use cycle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub case: Option<Uuid>,
    /// The cycle or load number.
    pub cycle: String,
    /// The exposure temperature.
    pub exposure_celsius: Decimal,
    /// The exposure time.
    pub exposure_minutes: Decimal,
    /// Terminal or immediate-use.
    pub kind: LoadKind,
    /// What was in it; nothing for an empty-chamber cycle.
    pub packs: Vec<NewPack>,
    /// Why it was an immediate-use cycle.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub reason: Option<String>,
    /// When it started.
    #[serde(serialize_with = "instant")]
    pub started_at: Timestamp,
    /// The sterilizer.
    pub sterilizer: Uuid,
}

/// A pack with its reusable pieces.
#[derive(Clone, Debug, Serialize)]
pub struct NewPack {
    /// Whether an implant is in it.
    pub implant: bool,
    /// Its lot-control label.
    pub label: String,
    /// What it is.
    pub name: String,
    /// The reusable pieces in it.
    pub units: Vec<Uuid>,
}

fn instant<S: Serializer>(at: &Timestamp, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&instant_text(*at))
}

/// Puts a load on record, not released.
#[derive(Clone, Debug)]
pub struct RecordLoad {
    /// The load.
    pub new: NewLoad,
}

/// Why a load is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordLoadRefusal {
    /// There is no such sterilizer.
    #[error("there is no such sterilizer")]
    NoSuchSterilizer,
    /// The sterilizer is out of service.
    #[error(
        "the sterilizer is out of service since a positive biological indicator; only empty cycles \
         are put on record until it is returned"
    )]
    OutOfService,
    /// The sterilizer has a load of this number.
    #[error("the sterilizer has a load of this number already")]
    CycleTaken,
    /// Two packs of the load have one label.
    #[error("two packs of this load have one label")]
    LabelTwice,
    /// It started in the future.
    #[error("must not be in the future")]
    NotStarted,
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// There is no such piece, or its product is not reusable.
    #[error("there is no such piece of a reusable product, or the load has it twice")]
    NoSuchUnit {
        /// The pack.
        pack: usize,
        /// The piece within it.
        unit: usize,
    },
}

impl Operation for RecordLoad {
    type Permission = act::RecordLoad;
    type Outcome = Load;
    type Refusal = RecordLoadRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Load, Refused<RecordLoadRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let new = &self.new;
        let Some(add_sterilizer::Sterilizer {
            out_of_service_since,
            ..
        }) = sterilizer(writing, new.sterilizer).await?
        else {
            return refuse(RecordLoadRefusal::NoSuchSterilizer);
        };
        if out_of_service_since.is_some() && !new.packs.is_empty() {
            return refuse(RecordLoadRefusal::OutOfService);
        }
        if new.started_at > writing.at {
            return refuse(RecordLoadRefusal::NotStarted);
        }
        if let Some(case) = new.case {
            add_to::<RecordLoadRefusal>(writing, case).await?;
        }
        let id = writing.new_id();
        self.insert(writing, id).await?;
        let mut seen = Vec::new();
        for (number, pack) in new.packs.iter().enumerate() {
            self.pack(writing, id, (number, pack), &mut seen).await?;
        }
        let subject = match new.case {
            Some(case) => Subject::of_case("load", id, case),
            None => Subject::new("load", id),
        };
        writing.append("record_load", subject, new)?;
        let load = find(writing.connection, id).await?;
        Ok(load.ok_or(StoreError::Unfit)?)
    }
}

impl RecordLoad {
    async fn insert(
        &self,
        writing: &mut Writing<'_>,
        id: Uuid,
    ) -> Result<(), Refused<RecordLoadRefusal>> {
        let new = &self.new;
        diesel::insert_into(loads::table)
            .values((
                loads::facility_id.eq(writing.facility.id),
                loads::id.eq(id),
                loads::sterilizer_id.eq(new.sterilizer),
                loads::cycle.eq(&new.cycle),
                loads::kind.eq(new.kind.as_str()),
                loads::case_id.eq(new.case),
                loads::reason.eq(&new.reason),
                loads::started_at.eq(new.started_at.to_diesel()),
                loads::exposure_minutes.eq(new.exposure_minutes),
                loads::exposure_celsius.eq(new.exposure_celsius),
                loads::operator.eq(writing.actor.to_string()),
                loads::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "loads_cycle_once") {
                true => Refused::Because(RecordLoadRefusal::CycleTaken),
                false => error.into(),
            })?;
        Ok(())
    }

    async fn pack(
        &self,
        writing: &mut Writing<'_>,
        load: Uuid,
        (number, pack): (usize, &NewPack),
        seen: &mut Vec<Uuid>,
    ) -> Result<(), Refused<RecordLoadRefusal>> {
        let id = writing.new_id();
        diesel::insert_into(packs::table)
            .values((
                packs::facility_id.eq(writing.facility.id),
                packs::id.eq(id),
                packs::load_id.eq(load),
                packs::label.eq(&pack.label),
                packs::name.eq(&pack.name),
                packs::implant.eq(pack.implant),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "packs_label_once") {
                true => Refused::Because(RecordLoadRefusal::LabelTwice),
                false => error.into(),
            })?;
        let reusable: Vec<Uuid> = units::table
            .inner_join(products::table.on(products::id.eq(units::product_id)))
            .filter(units::id.eq_any(&pack.units))
            .filter(products::use_class.eq(UseClass::Reusable.as_str()))
            .select(units::id)
            .load(writing.connection)
            .await?;
        for (place, unit) in pack.units.iter().enumerate() {
            if !reusable.contains(unit) || seen.contains(unit) {
                return Err(Refused::Because(RecordLoadRefusal::NoSuchUnit {
                    pack: number,
                    unit: place,
                }));
            }
            seen.push(*unit);
            let last: Option<i32> = pack_units::table
                .filter(pack_units::unit_id.eq(unit))
                .select(max(pack_units::cycle))
                .first(writing.connection)
                .await?;
            diesel::insert_into(pack_units::table)
                .values((
                    pack_units::facility_id.eq(writing.facility.id),
                    pack_units::pack_id.eq(id),
                    pack_units::unit_id.eq(unit),
                    pack_units::cycle.eq(last.unwrap_or_default() + 1),
                ))
                .execute(writing.connection)
                .await?;
        }
        Ok(())
    }
}
