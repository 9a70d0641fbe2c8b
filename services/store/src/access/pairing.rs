//! Pairing a station and taking its credential back.

use super::sign_in::token_hash;
use crate::database::{Database, Reading, StoreError};
use crate::facilities::{self, Facility};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{pairing_codes, sessions, station_credentials, stations};
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::{SignedDuration, Timestamp};
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// How long a pairing code counts.
const CODE_LASTS: SignedDuration = SignedDuration::from_mins(10);

/// A station that proved its credential.
#[derive(Clone, Debug)]
pub struct PairedStation {
    /// The station.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its facility.
    pub facility: Uuid,
    /// When it was paired.
    pub paired_at: Timestamp,
}

/// What a pairing code is kept as: HMAC-SHA-256 under the facility key.
///
/// # Errors
/// [`StoreError::Sealed`] with another installation's master key.
pub fn code_hash(facility: &Facility, master: &Key, code: &str) -> Result<[u8; 32], StoreError> {
    let text = format!("pairing code\0{code}");
    Ok(facility.key(master)?.lookup(text.as_bytes())?)
}

/// Makes a code that pairs a station once, within ten minutes; an earlier one still counts.
#[derive(Clone, Debug)]
pub struct MakePairingCode {
    /// The station.
    pub station: Uuid,
    /// [`code_hash`] of the code.
    pub hash: [u8; 32],
}

/// Why no code is made, or a station not unpaired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StationRefusal {
    /// There is no such station.
    #[error("there is no such station")]
    NoSuchStation,
    /// It is not paired.
    #[error("the station is not paired")]
    NotPaired,
}

#[derive(Serialize)]
struct CodeData {
    ends_at: String,
}

impl Operation for MakePairingCode {
    type Permission = act::MakePairingCode;
    type Outcome = Timestamp;
    type Refusal = StationRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Timestamp, Refused<StationRefusal>> {
        exists(writing, self.station).await?;
        let ends_at = writing.at + CODE_LASTS;
        diesel::insert_into(pairing_codes::table)
            .values((
                pairing_codes::facility_id.eq(writing.facility.id),
                pairing_codes::hash.eq(self.hash.as_slice()),
                pairing_codes::station_id.eq(self.station),
                pairing_codes::made_at.eq(writing.at.to_diesel()),
                pairing_codes::ends_at.eq(ends_at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let data = CodeData {
            ends_at: crate::moment::instant_text(ends_at),
        };
        let subject = Subject::new("station", self.station);
        writing.append("make_pairing_code", subject, &data)?;
        Ok(ends_at)
    }
}

async fn exists(writing: &mut Writing<'_>, id: Uuid) -> Result<(), Refused<StationRefusal>> {
    let count: i64 = stations::table
        .find(id)
        .count()
        .get_result(writing.connection)
        .await?;
    match count {
        0 => Err(Refused::Because(StationRefusal::NoSuchStation)),
        _ => Ok(()),
    }
}

/// Finds the facility and station of a pairing code that nobody redeemed yet.
///
/// # Errors
/// [`StoreError`].
pub async fn station_of_code(
    database: &Database,
    master: &Key,
    code: &str,
    now: Timestamp,
) -> Result<Option<(Uuid, Uuid, [u8; 32])>, StoreError> {
    for facility in facilities::list(database).await? {
        let hash = code_hash(&facility, master, code)?;
        let mut reading = database.reading(facility.id).await?;
        let station: Option<Uuid> = pairing_codes::table
            .filter(pairing_codes::hash.eq(hash.as_slice()))
            .filter(pairing_codes::redeemed_at.is_null())
            .filter(pairing_codes::ends_at.gt(now.to_diesel()))
            .select(pairing_codes::station_id)
            .first(reading.connection())
            .await
            .optional()?;
        if let Some(station) = station {
            return Ok(Some((facility.id, station, hash)));
        }
    }
    Ok(None)
}

/// Gives a station the credential that its code was made for; an earlier credential ends.
#[derive(Clone, Debug)]
pub struct PairStation {
    /// The station that the code is for.
    pub station: Uuid,
    /// [`code_hash`] of the code.
    pub code: [u8; 32],
    /// The hash of the credential.
    pub credential: [u8; 32],
}

/// Why a station is not paired.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PairStationRefusal {
    /// The code is none of ours, was redeemed or is over.
    #[error("the pairing code is not valid; an administrator makes another one")]
    NotValid,
}

#[derive(Serialize)]
struct Nothing {}

impl Operation for PairStation {
    type Permission = act::PairStation;
    type Outcome = PairedStation;
    type Refusal = PairStationRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<PairedStation, Refused<PairStationRefusal>> {
        let redeemed = diesel::update(pairing_codes::table)
            .filter(pairing_codes::hash.eq(self.code.as_slice()))
            .filter(pairing_codes::station_id.eq(self.station))
            .filter(pairing_codes::redeemed_at.is_null())
            .filter(pairing_codes::ends_at.gt(writing.at.to_diesel()))
            .set(pairing_codes::redeemed_at.eq(writing.at.to_diesel()))
            .execute(writing.connection)
            .await?;
        if redeemed == 0 {
            return Err(Refused::Because(PairStationRefusal::NotValid));
        }
        end_credential(writing, self.station).await?;
        diesel::insert_into(station_credentials::table)
            .values((
                station_credentials::facility_id.eq(writing.facility.id),
                station_credentials::hash.eq(self.credential.as_slice()),
                station_credentials::station_id.eq(self.station),
                station_credentials::paired_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let name = stations::table
            .find(self.station)
            .select(stations::name)
            .first(writing.connection)
            .await?;
        let subject = Subject::new("station", self.station);
        writing.append("pair_station", subject, &Nothing {})?;
        Ok(PairedStation {
            id: self.station,
            name,
            facility: writing.facility.id,
            paired_at: writing.at,
        })
    }
}

/// Takes a station's credential back, and ends the session there.
#[derive(Clone, Copy, Debug)]
pub struct UnpairStation {
    /// The station.
    pub station: Uuid,
}

impl Operation for UnpairStation {
    type Permission = act::UnpairStation;
    type Outcome = ();
    type Refusal = StationRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<(), Refused<StationRefusal>> {
        exists(writing, self.station).await?;
        if end_credential(writing, self.station).await? == 0 {
            return Err(Refused::Because(StationRefusal::NotPaired));
        }
        end_session_at(writing, self.station).await?;
        let subject = Subject::new("station", self.station);
        writing.append("unpair_station", subject, &Nothing {})?;
        Ok(())
    }
}

async fn end_credential(writing: &mut Writing<'_>, station: Uuid) -> QueryResult<usize> {
    diesel::update(station_credentials::table)
        .filter(station_credentials::station_id.eq(station))
        .filter(station_credentials::ended_at.is_null())
        .set(station_credentials::ended_at.eq(writing.at.to_diesel()))
        .execute(writing.connection)
        .await
}

/// Ends whatever session is open at a station; there is one at most.
pub(super) async fn end_session_at(
    writing: &mut Writing<'_>,
    station: Uuid,
) -> QueryResult<Option<Uuid>> {
    diesel::update(sessions::table)
        .filter(sessions::station_id.eq(station))
        .filter(sessions::revoked_at.is_null())
        .set(sessions::revoked_at.eq(writing.at.to_diesel()))
        .returning(sessions::id)
        .get_result(writing.connection)
        .await
        .optional()
}

/// The station that holds a credential; none when it is none of ours or was taken back.
///
/// # Errors
/// [`StoreError`].
pub async fn paired_station(
    reading: &mut Reading,
    credential: &str,
) -> Result<Option<PairedStation>, StoreError> {
    let found: Option<(Uuid, String, jiff_diesel::Timestamp)> = station_credentials::table
        .inner_join(stations::table.on(stations::id.eq(station_credentials::station_id)))
        .filter(station_credentials::hash.eq(token_hash(credential).to_vec()))
        .filter(station_credentials::ended_at.is_null())
        .select((stations::id, stations::name, station_credentials::paired_at))
        .first(reading.connection())
        .await
        .optional()?;
    let facility = reading.facility();
    Ok(found.map(|(id, name, paired_at)| PairedStation {
        id,
        name,
        facility,
        paired_at: paired_at.to_jiff(),
    }))
}

/// The paired station where an open session was begun by badge; none for any other session.
///
/// # Errors
/// [`StoreError`].
pub async fn session_station(
    reading: &mut Reading,
    session: Uuid,
) -> Result<Option<Uuid>, StoreError> {
    let station: Option<Option<Uuid>> = sessions::table
        .find(session)
        .filter(sessions::revoked_at.is_null())
        .select(sessions::station_id)
        .first(reading.connection())
        .await
        .optional()?;
    Ok(station.flatten())
}
