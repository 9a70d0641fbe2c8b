//! What every request can reach.

use crate::access::throttle::Throttle;
use crate::access::tokens::Tokens;
use crate::problem::ApiError;
use jiff::civil::Date;
use lotwarden_store::{Database, Reading, Recorder};
use metrics_exporter_prometheus::PrometheusHandle;
use std::sync::Arc;
use uuid::Uuid;

/// The running service.
pub struct App {
    /// The one door for writes.
    pub recorder: Arc<Recorder>,
    /// Access tokens.
    pub tokens: Tokens,
    /// Slows down guessing.
    pub throttle: Throttle,
    /// Renders the metrics.
    pub metrics: PrometheusHandle,
}

impl std::fmt::Debug for App {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("App").finish_non_exhaustive()
    }
}

impl App {
    /// The database.
    #[must_use]
    pub fn database(&self) -> &Database {
        self.recorder.database()
    }

    /// The civil day at a facility.
    ///
    /// # Errors
    /// As [`Self::reading`].
    pub async fn today(&self, facility: Uuid) -> Result<Date, ApiError> {
        let facility = self.recorder.facility(facility).await?;
        Ok(facility.day(self.recorder.clock().now()))
    }

    /// A connection for reads in the caller's facility.
    ///
    /// # Errors
    /// 503 when the database cannot be reached.
    pub async fn reading(&self, facility: Uuid) -> Result<Reading, ApiError> {
        Ok(self.database().reading(facility).await?)
    }
}
