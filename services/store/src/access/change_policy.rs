//! The site's settings for the rules.

use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::site_policies;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::access::act;
use lotwarden_domain::policy::SitePolicy;
use serde::Serialize;

/// The settings with their version.
#[derive(Clone, Copy, Debug)]
pub struct Policy {
    /// The settings.
    pub settings: SitePolicy,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// Changes the settings; old and new stand in the ledger with the reason.
#[derive(Clone, Debug)]
pub struct ChangePolicy {
    /// The version the caller saw.
    pub version: i32,
    /// The new settings.
    pub settings: SitePolicy,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why the settings are not changed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ChangePolicyRefusal {
    /// They changed since they were read.
    #[error("the policy changed since it was read")]
    Stale,
}

#[derive(Serialize)]
struct Data<'a> {
    new: State,
    old: State,
    reason: &'a str,
}

/// The settings in the key order of an entry.
#[derive(Serialize)]
struct State {
    clock_skew_seconds: u16,
    due_equipment_stops: bool,
    expires_soon_days: u16,
    idle_lock_minutes: u16,
    keeps_stock: bool,
    short_dated_days: u16,
}

impl From<SitePolicy> for State {
    fn from(policy: SitePolicy) -> Self {
        let SitePolicy {
            expires_soon_days,
            short_dated_days,
            keeps_stock,
            idle_lock_minutes,
            due_equipment_stops,
            clock_skew_seconds,
        } = policy;
        Self {
            clock_skew_seconds,
            due_equipment_stops,
            expires_soon_days,
            idle_lock_minutes,
            keeps_stock,
            short_dated_days,
        }
    }
}

impl Operation for ChangePolicy {
    type Permission = act::ChangePolicy;
    type Outcome = Policy;
    type Refusal = ChangePolicyRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Policy, Refused<ChangePolicyRefusal>> {
        let old = current(writing.connection).await?;
        if old.version != self.version {
            return Err(Refused::Because(ChangePolicyRefusal::Stale));
        }
        let version = old.version + 1;
        diesel::update(site_policies::table.find(writing.facility.id))
            .set((
                site_policies::expires_soon_days.eq(i32::from(self.settings.expires_soon_days)),
                site_policies::short_dated_days.eq(i32::from(self.settings.short_dated_days)),
                site_policies::keeps_stock.eq(self.settings.keeps_stock),
                site_policies::idle_lock_minutes.eq(i32::from(self.settings.idle_lock_minutes)),
                site_policies::due_equipment_stops.eq(self.settings.due_equipment_stops),
                site_policies::clock_skew_seconds.eq(i32::from(self.settings.clock_skew_seconds)),
                site_policies::version.eq(version),
            ))
            .execute(writing.connection)
            .await?;
        let data = Data {
            new: self.settings.into(),
            old: old.settings.into(),
            reason: &self.reason,
        };
        let subject = Subject::new("facility", writing.facility.id);
        writing.append("change_policy", subject, &data)?;
        Ok(Policy {
            settings: self.settings,
            version,
        })
    }
}

/// The settings in force, read inside a connection that sees one facility.
pub(crate) async fn current(connection: &mut AsyncPgConnection) -> Result<Policy, StoreError> {
    type Row = (i32, i32, bool, i32, bool, i32, i32);
    let (soon, short, keeps_stock, idle, due_equipment_stops, skew, version): Row =
        site_policies::table
            .select((
                site_policies::expires_soon_days,
                site_policies::short_dated_days,
                site_policies::keeps_stock,
                site_policies::idle_lock_minutes,
                site_policies::due_equipment_stops,
                site_policies::clock_skew_seconds,
                site_policies::version,
            ))
            .first(connection)
            .await?;
    let settings = SitePolicy {
        expires_soon_days: u16::try_from(soon).map_err(|_| StoreError::Unfit)?,
        short_dated_days: u16::try_from(short).map_err(|_| StoreError::Unfit)?,
        keeps_stock,
        idle_lock_minutes: u16::try_from(idle).map_err(|_| StoreError::Unfit)?,
        due_equipment_stops,
        clock_skew_seconds: u16::try_from(skew).map_err(|_| StoreError::Unfit)?,
    };
    Ok(Policy { settings, version })
}

/// Shows the settings in force.
///
/// # Errors
/// [`StoreError`].
pub async fn show_policy(reading: &mut Reading) -> Result<Policy, StoreError> {
    current(reading.connection()).await
}
