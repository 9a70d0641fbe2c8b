//! What the facility is for device reports: decided by somebody, never assumed.

use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::facility_statuses;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::deadlines::FacilityStatus;
use serde::Serialize;
use std::convert::Infallible;

/// Puts on record what the facility is (21 CFR 803.3), and why; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct DecideStatus {
    /// Why: 3 to 500 characters.
    pub reason: String,
    /// What it is.
    pub status: FacilityStatus,
}

/// A decision on record.
#[derive(Clone, Debug)]
pub struct StatusDecided {
    /// What was decided.
    pub decided: DecideStatus,
    /// Who, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

impl Operation for DecideStatus {
    type Permission = act::DecideStatus;
    type Outcome = StatusDecided;
    type Refusal = Infallible;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<StatusDecided, Refused<Infallible>> {
        let by = writing.actor.to_string();
        diesel::insert_into(facility_statuses::table)
            .values((
                facility_statuses::facility_id.eq(writing.facility.id),
                facility_statuses::id.eq(writing.new_id()),
                facility_statuses::status.eq(self.status.as_str()),
                facility_statuses::reason.eq(&self.reason),
                facility_statuses::decided_by.eq(&by),
                facility_statuses::decided_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::new("facility", writing.facility.id);
        writing.append("decide_status", subject, self)?;
        Ok(StatusDecided {
            decided: self.clone(),
            by,
            at: writing.at,
        })
    }
}

/// The status in force; none where nobody decided.
pub(super) async fn in_force(
    connection: &mut AsyncPgConnection,
) -> Result<Option<FacilityStatus>, StoreError> {
    let newest: Option<String> = facility_statuses::table
        .order(facility_statuses::id.desc())
        .select(facility_statuses::status)
        .first(connection)
        .await
        .optional()?;
    newest
        .map(|status| status.parse().map_err(|_| StoreError::Unfit))
        .transpose()
}
