//! Stations as they are on record, and the circumstances of their readings.

use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{facilities, station_credentials, stations};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::tz::TimeZone;
use lotwarden_codes::Separators;
use lotwarden_domain::label::Circumstances;
use lotwarden_domain::station::Separator;
use std::collections::HashMap;
use uuid::Uuid;

/// A scanning place known to the site (21 CFR 11.10(h)).
#[derive(Clone, Debug)]
pub struct Station {
    /// The station.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// What its scanner sends for GS.
    pub separator: Separator,
    /// When it was paired; none while it is not.
    pub paired_at: Option<Timestamp>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = stations)]
pub(crate) struct StationRow {
    id: Uuid,
    name: String,
    separator: String,
    version: i32,
}

impl TryFrom<StationRow> for Station {
    type Error = StoreError;

    fn try_from(row: StationRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            name: row.name,
            separator: row.separator.parse().map_err(|_| StoreError::Unfit)?,
            paired_at: None,
            version: row.version,
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
    let rows: Vec<StationRow> = stations::table
        .filter(stations::id.gt(after.start()))
        .order(stations::id)
        .limit(after.fetch())
        .select(StationRow::as_select())
        .load(reading.connection())
        .await?;
    let mut items: Vec<Station> = rows
        .into_iter()
        .map(Station::try_from)
        .collect::<Result<_, _>>()?;
    paired(reading.connection(), &mut items).await?;
    Ok(Page::of(items, after, |station| station.id))
}

/// Fills in when stations were paired.
pub(super) async fn paired(
    connection: &mut AsyncPgConnection,
    items: &mut [Station],
) -> Result<(), StoreError> {
    let ids: Vec<Uuid> = items.iter().map(|station| station.id).collect();
    let rows: Vec<(Uuid, jiff_diesel::Timestamp)> = station_credentials::table
        .filter(station_credentials::station_id.eq_any(ids))
        .filter(station_credentials::ended_at.is_null())
        .select((
            station_credentials::station_id,
            station_credentials::paired_at,
        ))
        .load(connection)
        .await?;
    let paired: HashMap<Uuid, jiff_diesel::Timestamp> = rows.into_iter().collect();
    for station in items {
        station.paired_at = paired.get(&station.id).map(|at| at.to_jiff());
    }
    Ok(())
}

/// The circumstances of a reading at this instant; none when there is no such station.
///
/// # Errors
/// [`StoreError`].
pub async fn circumstances(
    reading: &mut Reading,
    station: Option<Uuid>,
    at: Timestamp,
) -> Result<Option<Circumstances>, StoreError> {
    let zone: String = facilities::table
        .find(reading.facility())
        .select(facilities::zone)
        .first(reading.connection())
        .await?;
    let zone = TimeZone::get(&zone).map_err(|_| StoreError::Unfit)?;
    let mut circumstances = Circumstances::on(at.to_zoned(zone).date());
    let Some(station) = station else {
        return Ok(Some(circumstances));
    };
    let separator: Option<String> = stations::table
        .find(station)
        .select(stations::separator)
        .first(reading.connection())
        .await
        .optional()?;
    let Some(separator) = separator else {
        return Ok(None);
    };
    circumstances.separators = separators(&separator)?;
    Ok(Some(circumstances))
}

/// What stands for GS at every station of the facility.
pub(crate) async fn all_separators(
    connection: &mut AsyncPgConnection,
) -> Result<HashMap<Uuid, Separators>, StoreError> {
    let rows: Vec<(Uuid, String)> = stations::table
        .select((stations::id, stations::separator))
        .load(connection)
        .await?;
    let known = |(id, written): (Uuid, String)| Ok((id, separators(&written)?));
    rows.into_iter().map(known).collect()
}

fn separators(written: &str) -> Result<Separators, StoreError> {
    let separator: Separator = written.parse().map_err(|_| StoreError::Unfit)?;
    Ok(separator.separators())
}
