//! Facilities: each with its zone, its key and its ledger.

use crate::database::{Database, StoreError};
use crate::moment::new_id;
use crate::schema::{facilities, ledger_heads, site_policies};
use crate::sealing::{FACILITY_KEY, Key};
use diesel::prelude::*;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use jiff_diesel::ToDiesel;
use lotwarden_domain::policy::SitePolicy;
use uuid::Uuid;

/// One administrative domain.
#[derive(Clone, Debug)]
pub struct Facility {
    /// Its id, which is its ledger's id too.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Its time zone: decides which civil day an instant belongs to.
    pub zone: TimeZone,
    pub(crate) wrapped_key: Vec<u8>,
}

#[derive(Queryable)]
struct Row {
    id: Uuid,
    name: String,
    zone: String,
    wrapped_key: Vec<u8>,
}

impl Facility {
    fn of(row: Row) -> Result<Self, StoreError> {
        let zone = TimeZone::get(&row.zone).map_err(|_| StoreError::Unfit)?;
        Ok(Self {
            id: row.id,
            name: row.name,
            zone,
            wrapped_key: row.wrapped_key,
        })
    }

    /// The civil day of an instant at the facility.
    #[must_use]
    pub fn day(&self, at: Timestamp) -> Date {
        at.to_zoned(self.zone.clone()).date()
    }

    /// The facility's key, opened with the master key.
    ///
    /// # Errors
    /// [`StoreError::Sealed`] with another installation's master key.
    pub fn key(&self, master: &Key) -> Result<Key, StoreError> {
        Ok(master.unwrap(FACILITY_KEY, &self.wrapped_key)?)
    }
}

const COLUMNS: (
    facilities::id,
    facilities::name,
    facilities::zone,
    facilities::wrapped_key,
) = (
    facilities::id,
    facilities::name,
    facilities::zone,
    facilities::wrapped_key,
);

/// Shows one facility.
///
/// # Errors
/// [`StoreError`]; not found is a query error.
pub async fn show(database: &Database, id: Uuid) -> Result<Facility, StoreError> {
    let mut reading = database.outside().await?;
    let row = facilities::table
        .find(id)
        .select(COLUMNS)
        .first(reading.connection())
        .await?;
    Facility::of(row)
}

/// Lists every facility by name.
///
/// # Errors
/// [`StoreError`].
pub async fn list(database: &Database) -> Result<Vec<Facility>, StoreError> {
    let mut reading = database.outside().await?;
    let rows: Vec<Row> = facilities::table
        .order(facilities::name)
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    rows.into_iter().map(Facility::of).collect()
}

/// A facility could not be added.
#[derive(Debug, thiserror::Error)]
pub enum AddFacilityError {
    /// The zone is none of the IANA time zone database.
    #[error("{0} is no time zone of the IANA database; use one such as America/Chicago")]
    UnknownZone(String),
    /// The name is taken.
    #[error("there is a facility of this name already")]
    NameTaken,
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
}

/// Adds a facility with an empty ledger and the default policy, as the owner role: the service
/// itself has no right to.
///
/// # Errors
/// [`AddFacilityError`].
pub async fn add(
    owner_url: &str,
    master: &Key,
    name: &str,
    zone: &str,
    at: Timestamp,
) -> Result<Uuid, AddFacilityError> {
    TimeZone::get(zone).map_err(|_| AddFacilityError::UnknownZone(zone.to_owned()))?;
    let (_, wrapped_key) = master.wrap_new(FACILITY_KEY).map_err(StoreError::from)?;
    let id = new_id(at);
    let mut connection = AsyncPgConnection::establish(owner_url)
        .await
        .map_err(StoreError::Unreachable)?;
    let enter = format!("SET ROLE {}", crate::database::OWNER_ROLE);
    connection
        .batch_execute(&enter)
        .await
        .map_err(StoreError::from)?;
    let policy = SitePolicy::default();
    let head = lotwarden_ledger::Head::empty(id);
    let inserted = connection
        .transaction(async |connection| {
            diesel::insert_into(facilities::table)
                .values((
                    facilities::id.eq(id),
                    facilities::name.eq(name),
                    facilities::zone.eq(zone),
                    facilities::wrapped_key.eq(&wrapped_key),
                    facilities::created_at.eq(at.to_diesel()),
                ))
                .execute(connection)
                .await?;
            diesel::insert_into(site_policies::table)
                .values((
                    site_policies::facility_id.eq(id),
                    site_policies::expires_soon_days.eq(i32::from(policy.expires_soon_days)),
                    site_policies::short_dated_days.eq(i32::from(policy.short_dated_days)),
                    site_policies::keeps_stock.eq(policy.keeps_stock),
                    site_policies::idle_lock_minutes.eq(i32::from(policy.idle_lock_minutes)),
                    site_policies::due_equipment_stops.eq(policy.due_equipment_stops),
                    site_policies::clock_skew_seconds.eq(i32::from(policy.clock_skew_seconds)),
                    site_policies::version.eq(1),
                ))
                .execute(connection)
                .await?;
            diesel::insert_into(ledger_heads::table)
                .values((
                    ledger_heads::facility_id.eq(id),
                    ledger_heads::size.eq(0_i64),
                    ledger_heads::hash.eq(head.hash.as_bytes().to_vec()),
                ))
                .execute(connection)
                .await
        })
        .await;
    match inserted {
        Ok(_) => Ok(id),
        Err(error) if crate::database::violates(&error, "facilities_name_once") => {
            Err(AddFacilityError::NameTaken)
        }
        Err(error) => Err(StoreError::from(error).into()),
    }
}
