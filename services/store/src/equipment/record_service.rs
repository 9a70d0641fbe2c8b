//! Recording the maintenance or calibration of a piece of equipment.

use super::Equipment;
use super::out_of_service::set;
use super::rows::{Asked, of};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{equipment, equipment_services};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::equipment::{AsFound, ServiceKind};
use serde::Serialize;
use uuid::Uuid;

/// Why a piece whose calibration was found out of tolerance is out of service.
const FOUND_OUT: &str = "A calibration found it out of tolerance";

/// A service; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewService {
    /// What a calibration found; with a calibration only, and always with one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub as_found: Option<AsFound>,
    /// The certificate's number.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub certificate: Option<String>,
    /// Who did it: a person or a firm.
    pub done_by: String,
    /// When it was done.
    pub done_on: Date,
    /// The last day it is good for.
    pub due_on: Date,
    /// What was done.
    pub kind: ServiceKind,
}

/// Records a service. One that found the piece out of tolerance takes it out of service, until a
/// person returns it.
#[derive(Clone, Debug)]
pub struct RecordService {
    /// The piece.
    pub equipment: Uuid,
    /// The service.
    pub new: NewService,
}

/// Why a service is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordServiceRefusal {
    /// There is no such equipment.
    #[error("there is no such equipment")]
    NoSuchEquipment,
    /// It lies in the future.
    #[error("must not lie in the future")]
    NotYet,
}

impl Operation for RecordService {
    type Permission = act::RecordService;
    type Outcome = Equipment;
    type Refusal = RecordServiceRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<RecordServiceRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let asked = || Asked::One(self.equipment);
        let Some(piece) = of(writing.connection, asked()).await?.pop() else {
            return refuse(RecordServiceRefusal::NoSuchEquipment);
        };
        let new = &self.new;
        if new.done_on > writing.facility.day(writing.at) {
            return refuse(RecordServiceRefusal::NotYet);
        }
        diesel::insert_into(equipment_services::table)
            .values((
                equipment_services::facility_id.eq(writing.facility.id),
                equipment_services::id.eq(writing.new_id()),
                equipment_services::equipment_id.eq(self.equipment),
                equipment_services::kind.eq(new.kind.as_str()),
                equipment_services::done_on.eq(new.done_on.to_diesel()),
                equipment_services::due_on.eq(new.due_on.to_diesel()),
                equipment_services::done_by.eq(&new.done_by),
                equipment_services::certificate.eq(&new.certificate),
                equipment_services::as_found.eq(new.as_found.map(AsFound::as_str)),
                equipment_services::actor.eq(writing.actor.to_string()),
                equipment_services::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        if new.as_found == Some(AsFound::OutOfTolerance) && piece.out_of_service.is_none() {
            set(writing, self.equipment, Some(FOUND_OUT)).await?;
        } else {
            diesel::update(equipment::table.find(self.equipment))
                .set(equipment::version.eq(equipment::version + 1))
                .execute(writing.connection)
                .await?;
        }
        let subject = Subject::new("equipment", self.equipment);
        writing.append("record_service", subject, new)?;
        let serviced = of(writing.connection, asked()).await?.pop();
        Ok(serviced.ok_or(StoreError::Unfit)?)
    }
}
