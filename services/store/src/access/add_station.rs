//! Adding a station.

use super::stations::Station;
use crate::database::violates;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::stations;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::station::Separator;
use serde::Serialize;

/// Adds a station.
#[derive(Clone, Debug)]
pub struct AddStation {
    /// Its name: 1 to 100 characters.
    pub name: String,
    /// What its scanner sends for GS.
    pub separator: Separator,
}

/// Why a station is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddStationRefusal {
    /// There is one of this name.
    #[error("there is a station of this name already")]
    NameTaken,
}

/// A station's settings as the ledger writes them.
#[derive(Serialize)]
pub(super) struct Settings<'a> {
    pub(super) name: &'a str,
    pub(super) separator: String,
}

impl Operation for AddStation {
    type Permission = act::AddStation;
    type Outcome = Station;
    type Refusal = AddStationRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Station, Refused<AddStationRefusal>> {
        let id = writing.new_id();
        diesel::insert_into(stations::table)
            .values((
                stations::facility_id.eq(writing.facility.id),
                stations::id.eq(id),
                stations::name.eq(&self.name),
                stations::separator.eq(self.separator.to_string()),
                stations::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "stations_name_once") {
                true => Refused::Because(AddStationRefusal::NameTaken),
                false => error.into(),
            })?;
        let data = Settings {
            name: &self.name,
            separator: self.separator.to_string(),
        };
        writing.append("add_station", Subject::new("station", id), &data)?;
        Ok(Station {
            id,
            name: self.name.clone(),
            separator: self.separator.clone(),
            paired_at: None,
            version: 1,
        })
    }
}
