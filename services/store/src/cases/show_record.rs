//! Showing the record of a case as it is hashed.

use super::amendments;
use super::record::{self, CURRENT, Part};
use crate::database::{Reading, StoreError};
use crate::records::{Retention, retention};
use diesel_async::AsyncPgConnection;
use jiff::tz::TimeZone;
use lotwarden_ledger::Hash;
use uuid::Uuid;

/// The record of a case as it stands, in the form that is signed now.
#[derive(Clone, Debug)]
pub struct RecordShown {
    /// The version of the case.
    pub version: i32,
    /// The form of the record.
    pub form: i16,
    /// Canonical JSON (RFC 8785), without anybody's identity.
    pub text: String,
    /// The SHA-256 of the text.
    pub hash: Hash,
    /// What it states part by part, with the newest amendment of each value in its place.
    pub parts: Vec<Part>,
    /// Until when it is kept.
    pub retention: Retention,
}

/// Shows the record of a case; none when there is no such case.
///
/// # Errors
/// [`StoreError`].
pub async fn show_record(
    reading: &mut Reading,
    zone: &TimeZone,
    case: Uuid,
) -> Result<Option<RecordShown>, StoreError> {
    let mut snapshot = reading.snapshot();
    snapshot
        .run(async |connection: &mut AsyncPgConnection| {
            let Some(recorded) = record::of_case(connection, case).await? else {
                return Ok(None);
            };
            let text = recorded.text()?;
            let amended = amendments::of_case(connection, case).await?;
            Ok(Some(RecordShown {
                version: recorded.case.version,
                form: CURRENT,
                hash: Hash::of(text.as_bytes()),
                text,
                parts: amendments::parts(&recorded, &amended),
                retention: retention(connection, zone, &recorded.case).await?,
            }))
        })
        .await
}
