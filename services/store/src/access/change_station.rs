//! Changing a station's settings.

use super::add_station::Settings;
use super::stations::{Station, StationRow, paired};
use crate::database::violates;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::stations;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::station::Separator;
use serde::Serialize;
use uuid::Uuid;

/// Gives a station another name or separator; it counts from the next reading.
#[derive(Clone, Debug)]
pub struct ChangeStation {
    /// The station.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Its name: 1 to 100 characters.
    pub name: String,
    /// What its scanner sends for GS.
    pub separator: Separator,
}

/// Why a station is not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangeStationRefusal {
    /// There is no such station.
    #[error("there is no such station")]
    NoSuchStation,
    /// The record changed since it was read.
    #[error("the station changed since it was read")]
    Stale,
    /// There is another of this name.
    #[error("there is a station of this name already")]
    NameTaken,
}

#[derive(Serialize)]
struct Data<'a> {
    new: Settings<'a>,
    old: Settings<'a>,
}

impl Operation for ChangeStation {
    type Permission = act::ChangeStation;
    type Outcome = Station;
    type Refusal = ChangeStationRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Station, Refused<ChangeStationRefusal>> {
        let row: StationRow = stations::table
            .find(self.id)
            .select(StationRow::as_select())
            .first(writing.connection)
            .await
            .optional()?
            .ok_or(Refused::Because(ChangeStationRefusal::NoSuchStation))?;
        let old = Station::try_from(row)?;
        if old.version != self.version {
            return Err(Refused::Because(ChangeStationRefusal::Stale));
        }
        let row: StationRow = diesel::update(stations::table.find(self.id))
            .set((
                stations::name.eq(&self.name),
                stations::separator.eq(self.separator.to_string()),
                stations::version.eq(old.version + 1),
            ))
            .returning(StationRow::as_returning())
            .get_result(writing.connection)
            .await
            .map_err(|error| match violates(&error, "stations_name_once") {
                true => Refused::Because(ChangeStationRefusal::NameTaken),
                false => error.into(),
            })?;
        let data = Data {
            new: Settings {
                name: &self.name,
                separator: self.separator.to_string(),
            },
            old: Settings {
                name: &old.name,
                separator: old.separator.to_string(),
            },
        };
        writing.append("change_station", Subject::new("station", self.id), &data)?;
        let mut changed = [Station::try_from(row)?];
        paired(writing.connection, &mut changed).await?;
        let [changed] = changed;
        Ok(changed)
    }
}
