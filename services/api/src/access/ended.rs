//! Sessions that ended while an access token of theirs may still be good.
//!
//! An access token is checked by its signature alone, so a session that was ended has to be known
//! here until its last token is over (ASVS 7.4.1).

use super::tokens::ACCESS_SECONDS;
use crate::problem::ApiError;
use jiff::{SignedDuration, Timestamp};
use lotwarden_store::access::{all_ended_sessions, ended_sessions};
use lotwarden_store::{Recorder, StoreError};
use std::collections::HashSet;
use std::sync::{PoisonError, RwLock};
use uuid::Uuid;

/// The sessions whose access tokens do not count any more, as this process knows them.
#[derive(Debug, Default)]
pub struct Ended {
    sessions: RwLock<HashSet<Uuid>>,
}

impl Ended {
    /// Whether the session was ended.
    #[must_use]
    pub fn contains(&self, session: Uuid) -> bool {
        let sessions = self.sessions.read().unwrap_or_else(PoisonError::into_inner);
        sessions.contains(&session)
    }

    /// Learns at once what a request that was just recorded ended in its facility.
    ///
    /// # Errors
    /// 503 when the database cannot be reached; the next upkeep learns it.
    pub async fn learn(&self, recorder: &Recorder, facility: Uuid) -> Result<(), ApiError> {
        let since = since(recorder.clock().now());
        let ended = ended_sessions(recorder.database(), facility, since).await?;
        let mut sessions = self
            .sessions
            .write()
            .unwrap_or_else(PoisonError::into_inner);
        sessions.extend(ended);
        Ok(())
    }

    /// Learns what other processes ended, and forgets what no token can name any more.
    ///
    /// # Errors
    /// [`StoreError`].
    pub async fn keep_up(&self, recorder: &Recorder) -> Result<(), StoreError> {
        let since = since(recorder.clock().now());
        let ended = all_ended_sessions(recorder.database(), since).await?;
        let mut sessions = self
            .sessions
            .write()
            .unwrap_or_else(PoisonError::into_inner);
        *sessions = ended.into_iter().collect();
        Ok(())
    }
}

/// A token signed just before its session ended is over by then; a minute for unlike clocks.
fn since(now: Timestamp) -> Timestamp {
    now - SignedDuration::from_secs(ACCESS_SECONDS + 60)
}
