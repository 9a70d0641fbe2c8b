//! What every request can reach.

use crate::access::emergencies::Emergencies;
use crate::access::ended::Ended;
use crate::access::throttle::Throttle;
use crate::access::tokens::Tokens;
use crate::problem::{ApiError, FieldError};
use jiff::civil::Date;
use lotwarden_domain::label::Circumstances;
use lotwarden_domain::outbox::Networks;
use lotwarden_store::access;
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
    /// Sessions whose access tokens do not count any more.
    pub ended: Ended,
    /// Emergency access in force.
    pub emergencies: Emergencies,
    /// Slows down guessing.
    pub throttle: Throttle,
    /// Networks that not everybody reaches and webhooks may be in.
    pub webhook_networks: Networks,
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

    /// The circumstances of a label that is read now at a station of the facility.
    ///
    /// # Errors
    /// 400 naming `/station_id` when there is no such station; 503.
    pub async fn circumstances(
        &self,
        reading: &mut Reading,
        station: Option<Uuid>,
    ) -> Result<Circumstances, ApiError> {
        let now = self.recorder.clock().now();
        let found = access::circumstances(reading, station, now).await?;
        found.ok_or_else(|| {
            let fault = FieldError::new("/station_id", "There is no such station.");
            ApiError::fields(vec![fault])
        })
    }

    /// A connection for reads in the caller's facility.
    ///
    /// # Errors
    /// 503 when the database cannot be reached.
    pub async fn reading(&self, facility: Uuid) -> Result<Reading, ApiError> {
        Ok(self.database().reading(facility).await?)
    }
}
