//! Taking equipment out of service, and back.

use super::Equipment;
use super::rows::{Asked, of};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::equipment;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Takes a piece of equipment out of service: from then on it stops at every setup.
#[derive(Clone, Debug)]
pub struct TakeOutOfService {
    /// The piece.
    pub equipment: Uuid,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Returns a piece of equipment to service.
#[derive(Clone, Debug)]
pub struct ReturnEquipment {
    /// The piece.
    pub equipment: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why the state stays.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ServiceStateRefusal {
    /// There is no such equipment.
    #[error("there is no such equipment")]
    NoSuchEquipment,
    /// It changed since the caller read it.
    #[error("the equipment changed since it was read")]
    Stale,
    /// It is in this state already.
    #[error("the equipment is in this state already")]
    AlreadySo,
}

#[derive(Serialize)]
struct Data<'a> {
    reason: &'a str,
}

impl Operation for TakeOutOfService {
    type Permission = act::TakeOutOfService;
    type Outcome = Equipment;
    type Refusal = ServiceStateRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<ServiceStateRefusal>> {
        let piece = find(writing, self.equipment).await?;
        if piece.out_of_service.is_some() {
            return Err(Refused::Because(ServiceStateRefusal::AlreadySo));
        }
        set(writing, self.equipment, Some(&self.reason)).await?;
        let subject = Subject::new("equipment", self.equipment);
        let data = Data {
            reason: &self.reason,
        };
        writing.append("take_out_of_service", subject, &data)?;
        find(writing, self.equipment).await
    }
}

impl Operation for ReturnEquipment {
    type Permission = act::ReturnEquipment;
    type Outcome = Equipment;
    type Refusal = ServiceStateRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Equipment, Refused<ServiceStateRefusal>> {
        let piece = find(writing, self.equipment).await?;
        if piece.out_of_service.is_none() {
            return Err(Refused::Because(ServiceStateRefusal::AlreadySo));
        }
        if piece.version != self.version {
            return Err(Refused::Because(ServiceStateRefusal::Stale));
        }
        set(writing, self.equipment, None).await?;
        let subject = Subject::new("equipment", self.equipment);
        let data = Data {
            reason: &self.reason,
        };
        writing.append("return_equipment", subject, &data)?;
        find(writing, self.equipment).await
    }
}

async fn find(
    writing: &mut Writing<'_>,
    id: Uuid,
) -> Result<Equipment, Refused<ServiceStateRefusal>> {
    let piece = of(writing.connection, Asked::One(id)).await?.pop();
    piece.ok_or(Refused::Because(ServiceStateRefusal::NoSuchEquipment))
}

/// Puts it out of service with a reason, or back; counts the change.
pub(super) async fn set(
    writing: &mut Writing<'_>,
    id: Uuid,
    reason: Option<&str>,
) -> Result<(), StoreError> {
    let since = reason.map(|_| writing.at);
    diesel::update(equipment::table.find(id))
        .set((
            equipment::out_of_service_since.eq(since.map(|at| at.to_diesel())),
            equipment::out_of_service_reason.eq(reason),
            equipment::version.eq(equipment::version + 1),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}
