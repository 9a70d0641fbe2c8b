//! Emergency access in force, as this process knows it: who may what is decided before anything is
//! read.

use crate::problem::ApiError;
use jiff::Timestamp;
use lotwarden_store::access::{all_emergencies, emergencies};
use lotwarden_store::{Recorder, StoreError};
use std::collections::HashMap;
use std::sync::{PoisonError, RwLock};
use uuid::Uuid;

/// The end of each person's emergency access to a case.
#[derive(Debug, Default)]
pub struct Emergencies {
    until: RwLock<HashMap<(Uuid, Uuid), Timestamp>>,
}

impl Emergencies {
    /// Whether a person has emergency access to a case now.
    #[must_use]
    pub fn holds(&self, person: Uuid, case: Uuid, now: Timestamp) -> bool {
        let until = self.until.read().unwrap_or_else(PoisonError::into_inner);
        until.get(&(person, case)).is_some_and(|end| *end > now)
    }

    /// Learns at once what was just taken in a facility.
    ///
    /// # Errors
    /// 503 when the database cannot be reached; the next upkeep learns it.
    pub async fn learn(&self, recorder: &Recorder, facility: Uuid) -> Result<(), ApiError> {
        let now = recorder.clock().now();
        let taken = emergencies(recorder.database(), facility, now).await?;
        let mut until = self.until.write().unwrap_or_else(PoisonError::into_inner);
        until.extend(taken);
        Ok(())
    }

    /// Learns what was taken through other processes, and forgets what ended.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn keep_up(&self, recorder: &Recorder) -> Result<(), StoreError> {
        let taken = all_emergencies(recorder.database(), recorder.clock().now()).await?;
        let mut until = self.until.write().unwrap_or_else(PoisonError::into_inner);
        *until = taken.into_iter().collect();
        Ok(())
    }
}
