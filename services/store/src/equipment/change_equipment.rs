//! Changing what is on record of a piece of equipment: its name, its label, where it stands.

use super::Equipment;
use super::add_equipment::is_place;
use super::rows::{Asked, of};
use crate::database::{StoreError, violates};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::equipment;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Changes name, label and place of a piece of equipment.
#[derive(Clone, Debug)]
pub struct ChangeEquipment {
    /// The piece.
    pub equipment: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Its name.
    pub name: String,
    /// What a scanner reads from the maker's label.
    pub label: Option<String>,
    /// Where it stands.
    pub location: Option<Uuid>,
}

/// Why equipment is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeEquipmentRefusal {
    /// There is no such equipment.
    #[error("there is no such equipment")]
    NoSuchEquipment,
    /// It changed since the caller read it.
    #[error("the equipment changed since it was read")]
    Stale,
    /// The label is another piece's.
    #[error("another piece of equipment has this label")]
    LabelTaken,
    /// There is no such place.
    #[error("there is no such place")]
    NoSuchPlace,
}

#[derive(Serialize)]
struct Data<'a> {
    new: State<'a>,
    old: State<'a>,
}

#[derive(Serialize)]
struct State<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    label: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    location: Option<Uuid>,
    name: &'a str,
}

impl Operation for ChangeEquipment {
    type Permission = act::ChangeEquipment;
    type Outcome = Equipment;
    type Refusal = ChangeEquipmentRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<ChangeEquipmentRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let asked = || Asked::One(self.equipment);
        let Some(old) = of(writing.connection, asked()).await?.pop() else {
            return refuse(ChangeEquipmentRefusal::NoSuchEquipment);
        };
        if old.version != self.version {
            return refuse(ChangeEquipmentRefusal::Stale);
        }
        if !is_place(writing, self.location).await? {
            return refuse(ChangeEquipmentRefusal::NoSuchPlace);
        }
        diesel::update(equipment::table.find(self.equipment))
            .set((
                equipment::name.eq(&self.name),
                equipment::label.eq(&self.label),
                equipment::location_id.eq(self.location),
                equipment::version.eq(equipment::version + 1),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "equipment_label_once") {
                true => Refused::Because(ChangeEquipmentRefusal::LabelTaken),
                false => error.into(),
            })?;
        let data = Data {
            new: State {
                label: self.label.as_deref(),
                location: self.location,
                name: &self.name,
            },
            old: State {
                label: old.new.label.as_deref(),
                location: old.new.location,
                name: &old.new.name,
            },
        };
        let subject = Subject::new("equipment", self.equipment);
        writing.append("change_equipment", subject, &data)?;
        let changed = of(writing.connection, asked()).await?.pop();
        Ok(changed.ok_or(StoreError::Unfit)?)
    }
}
