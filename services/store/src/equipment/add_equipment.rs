//! Putting a piece of equipment on record.

use super::rows::{Asked, of};
use super::{Equipment, NewEquipment};
use crate::database::{StoreError, violates};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{equipment, locations};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use uuid::Uuid;

/// Puts a piece of equipment on record.
#[derive(Clone, Debug)]
pub struct AddEquipment {
    /// The piece.
    pub new: NewEquipment,
}

/// Why equipment is not put on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddEquipmentRefusal {
    /// The asset number is another piece's.
    #[error("another piece of equipment has this asset number")]
    AssetTaken,
    /// The label is another piece's.
    #[error("another piece of equipment has this label")]
    LabelTaken,
    /// There is no such place.
    #[error("there is no such place")]
    NoSuchPlace,
}

impl Operation for AddEquipment {
    type Permission = act::AddEquipment;
    type Outcome = Equipment;
    type Refusal = AddEquipmentRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<AddEquipmentRefusal>> {
        let new = &self.new;
        if !is_place(writing, new.location).await? {
            return Err(Refused::Because(AddEquipmentRefusal::NoSuchPlace));
        }
        let id = writing.new_id();
        diesel::insert_into(equipment::table)
            .values((
                equipment::facility_id.eq(writing.facility.id),
                equipment::id.eq(id),
                equipment::asset_number.eq(&new.asset_number),
                equipment::kind.eq(new.kind.as_str()),
                equipment::thermometer_type.eq(new.thermometer_type.map(|kind| kind.as_str())),
                equipment::name.eq(&new.name),
                equipment::serial.eq(&new.serial),
                equipment::label.eq(&new.label),
                equipment::location_id.eq(new.location),
                equipment::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| {
                if violates(&error, "equipment_asset_once") {
                    Refused::Because(AddEquipmentRefusal::AssetTaken)
                } else if violates(&error, "equipment_label_once") {
                    Refused::Because(AddEquipmentRefusal::LabelTaken)
                } else {
                    error.into()
                }
            })?;
        writing.append("add_equipment", Subject::new("equipment", id), new)?;
        let added = of(writing.connection, Asked::One(id)).await?.pop();
        Ok(added.ok_or(StoreError::Unfit)?)
    }
}

/// Whether equipment can stand there.
pub(super) async fn is_place(
    writing: &mut Writing<'_>,
    location: Option<Uuid>,
) -> Result<bool, StoreError> {
    let Some(location) = location else {
        return Ok(true);
    };
    let known = locations::table.filter(locations::id.eq(location));
    Ok(diesel::select(exists(known))
        .get_result(writing.connection)
        .await?)
}
