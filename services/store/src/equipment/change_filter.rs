//! Putting a fresh filter into a piece of equipment.

use super::Equipment;
use super::rows::{Asked, of};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{equipment, equipment_filters};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use rust_decimal::Decimal;
use serde::Serialize;
use uuid::Uuid;

/// A filter with its maker's life, in hours or in cases.
#[derive(Clone, Debug, Serialize)]
pub struct NewFilter {
    /// What the site expects a case to use, in hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub case_hours: Option<Decimal>,
    /// The filter's identifier or lot: 1 to 100 characters.
    pub filter: String,
    /// The life in cases.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub life_cases: Option<u32>,
    /// The life in hours.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub life_hours: Option<Decimal>,
}

/// Puts a fresh filter in; what was used counts from here.
#[derive(Clone, Debug)]
pub struct ChangeFilter {
    /// The piece.
    pub equipment: Uuid,
    /// The filter.
    pub new: NewFilter,
}

/// Why no filter is put in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeFilterRefusal {
    /// There is no such equipment.
    #[error("there is no such equipment")]
    NoSuchEquipment,
}

#[derive(Serialize)]
struct Data<'a> {
    new: &'a NewFilter,
    #[serde(skip_serializing_if = "Option::is_none")]
    old: Option<Old<'a>>,
}

/// The filter that came out, with what of it was used.
#[derive(Serialize)]
struct Old<'a> {
    cases: u32,
    filter: &'a str,
    hours: Decimal,
}

impl Operation for ChangeFilter {
    type Permission = act::ChangeFilter;
    type Outcome = Equipment;
    type Refusal = ChangeFilterRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<ChangeFilterRefusal>> {
        let asked = || Asked::One(self.equipment);
        let piece = of(writing.connection, asked()).await?.pop();
        let piece = piece.ok_or(Refused::Because(ChangeFilterRefusal::NoSuchEquipment))?;
        let new = &self.new;
        let cases = new.life_cases.map(i32::try_from).transpose();
        diesel::insert_into(equipment_filters::table)
            .values((
                equipment_filters::facility_id.eq(writing.facility.id),
                equipment_filters::id.eq(writing.new_id()),
                equipment_filters::equipment_id.eq(self.equipment),
                equipment_filters::filter.eq(&new.filter),
                equipment_filters::life_hours.eq(new.life_hours),
                equipment_filters::life_cases.eq(cases.map_err(|_| StoreError::Unfit)?),
                equipment_filters::case_hours.eq(new.case_hours),
                equipment_filters::actor.eq(writing.actor.to_string()),
                equipment_filters::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        diesel::update(equipment::table.find(self.equipment))
            .set(equipment::version.eq(equipment::version + 1))
            .execute(writing.connection)
            .await?;
        let old = piece.filter.as_ref().map(|old| Old {
            cases: old.cases,
            filter: &old.new.filter,
            hours: old.hours,
        });
        let subject = Subject::new("equipment", self.equipment);
        writing.append("change_filter", subject, &Data { new, old })?;
        let changed = of(writing.connection, asked()).await?.pop();
        Ok(changed.ok_or(StoreError::Unfit)?)
    }
}
