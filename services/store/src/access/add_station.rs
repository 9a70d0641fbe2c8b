//! Stations.

use crate::database::{Reading, StoreError, violates};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{station_credentials, stations};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// A scanning place known to the site (21 CFR 11.10(h)).
#[derive(Clone, Debug)]
pub struct Station {
    /// The station.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// When it was paired; none while it is not.
    pub paired_at: Option<Timestamp>,
}

/// Adds a station.
#[derive(Clone, Debug)]
pub struct AddStation {
    /// Its name: 1 to 100 characters.
    pub name: String,
}

/// Why a station is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddStationRefusal {
    /// There is one of this name.
    #[error("there is a station of this name already")]
    NameTaken,
}

#[derive(Serialize)]
struct Data<'a> {
    name: &'a str,
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
                stations::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "stations_name_once") {
                true => Refused::Because(AddStationRefusal::NameTaken),
                false => error.into(),
            })?;
        writing.append(
            "add_station",
            Subject::new("station", id),
            &Data { name: &self.name },
        )?;
        Ok(Station {
            id,
            name: self.name.clone(),
            paired_at: None,
        })
    }
}

/// Lists stations in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list_stations(
    reading: &mut Reading,
    after: After,
) -> Result<Page<Station>, StoreError> {
    let paired = station_credentials::table.on(station_credentials::station_id
        .eq(stations::id)
        .and(station_credentials::ended_at.is_null()));
    let rows: Vec<(Uuid, String, Option<jiff_diesel::Timestamp>)> = stations::table
        .left_join(paired)
        .filter(stations::id.gt(after.start()))
        .order(stations::id)
        .limit(after.fetch())
        .select((
            stations::id,
            stations::name,
            station_credentials::paired_at.nullable(),
        ))
        .load(reading.connection())
        .await?;
    let items = rows
        .into_iter()
        .map(|(id, name, paired_at)| Station {
            id,
            name,
            paired_at: paired_at.map(jiff_diesel::Timestamp::to_jiff),
        })
        .collect();
    Ok(Page::of(items, after, |station| station.id))
}
