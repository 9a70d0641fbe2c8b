//! Open sessions, and those that ended a moment ago.

use crate::database::{Database, Reading, StoreError};
use crate::facilities;
use crate::lists::{After, Page};
use crate::schema::{refresh_tokens, sessions, stations};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use std::collections::HashMap;
use uuid::Uuid;

/// An open session as its owner and those in charge see it.
#[derive(Clone, Debug)]
pub struct OpenSession {
    /// The session.
    pub id: Uuid,
    /// The paired station it was started at.
    pub station: Option<(Uuid, String)>,
    /// When it was started.
    pub started_at: Timestamp,
    /// When it was started or renewed last.
    pub renewed_at: Timestamp,
    /// When it ends at the latest.
    pub ends_at: Timestamp,
}

/// Lists a person's open sessions in the order they were started.
///
/// # Errors
/// [`StoreError`].
pub async fn list_sessions(
    reading: &mut Reading,
    person: Uuid,
    now: Timestamp,
    after: After,
) -> Result<Page<OpenSession>, StoreError> {
    type Row = (
        Uuid,
        jiff_diesel::Timestamp,
        jiff_diesel::Timestamp,
        jiff_diesel::NullableTimestamp,
        Option<Uuid>,
    );
    let rows: Vec<Row> = sessions::table
        .inner_join(refresh_tokens::table.on(refresh_tokens::session_id.eq(sessions::id)))
        .filter(sessions::person_id.eq(person))
        .filter(sessions::revoked_at.is_null())
        .filter(sessions::expires_at.gt(now.to_diesel()))
        .filter(sessions::id.gt(after.start()))
        .group_by((
            sessions::id,
            sessions::created_at,
            sessions::expires_at,
            sessions::station_id,
        ))
        .order(sessions::id)
        .limit(after.fetch())
        .select((
            sessions::id,
            sessions::created_at,
            sessions::expires_at,
            diesel::dsl::max(refresh_tokens::issued_at),
            sessions::station_id,
        ))
        .load(reading.connection())
        .await?;
    let places: Vec<Uuid> = rows.iter().filter_map(|row| row.4).collect();
    let names: HashMap<Uuid, String> = stations::table
        .filter(stations::id.eq_any(places))
        .select((stations::id, stations::name))
        .load::<(Uuid, String)>(reading.connection())
        .await?
        .into_iter()
        .collect();
    let items = rows
        .into_iter()
        .map(|(id, started, ends, renewed, station)| {
            let started_at = started.to_jiff();
            OpenSession {
                id,
                station: station.and_then(|id| Some((id, names.get(&id)?.clone()))),
                started_at,
                renewed_at: renewed.to_jiff().unwrap_or(started_at),
                ends_at: ends.to_jiff(),
            }
        });
    Ok(Page::of(items.collect(), after, |session| session.id))
}

/// Sessions of one facility that were ended at or after an instant.
///
/// # Errors
/// [`StoreError`].
pub async fn ended_sessions(
    database: &Database,
    facility: Uuid,
    since: Timestamp,
) -> Result<Vec<Uuid>, StoreError> {
    let mut reading = database.reading(facility).await?;
    let ended = sessions::table
        .filter(sessions::facility_id.eq(facility))
        .filter(sessions::revoked_at.ge(since.to_diesel()))
        .select(sessions::id)
        .load(reading.connection())
        .await?;
    Ok(ended)
}

/// Sessions of every facility that were ended at or after an instant.
///
/// # Errors
/// [`StoreError`].
pub async fn all_ended_sessions(
    database: &Database,
    since: Timestamp,
) -> Result<Vec<Uuid>, StoreError> {
    let mut ended = Vec::new();
    for facility in facilities::list(database).await? {
        ended.extend(ended_sessions(database, facility.id, since).await?);
    }
    Ok(ended)
}
