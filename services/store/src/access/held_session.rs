//! Who was signed in at a station when a scan was held there.

use super::people::{Person, PersonRow};
use crate::database::{Reading, StoreError};
use crate::schema::{people, sessions};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::{SignedDuration, Timestamp};
use lotwarden_domain::access::Caller;
use uuid::Uuid;

/// How far the station's clock and the service's may differ.
const SKEW: SignedDuration = SignedDuration::from_mins(2);

/// The person of a session that was open at a station at an instant of the station's clock; none
/// when there was no such session there and then. The roles are those the person has now.
///
/// # Errors
/// [`StoreError`].
pub async fn held_session(
    reading: &mut Reading,
    session: Uuid,
    station: Uuid,
    at: Timestamp,
) -> Result<Option<Caller>, StoreError> {
    type Row = (
        jiff_diesel::Timestamp,
        jiff_diesel::Timestamp,
        jiff_diesel::NullableTimestamp,
        PersonRow,
    );
    let row: Option<Row> = sessions::table
        .inner_join(people::table.on(people::id.eq(sessions::person_id)))
        .filter(sessions::id.eq(session))
        .filter(sessions::station_id.eq(station))
        .select((
            sessions::created_at,
            sessions::expires_at,
            sessions::revoked_at,
            PersonRow::as_select(),
        ))
        .first(reading.connection())
        .await
        .optional()?;
    let Some((started, expires, revoked, row)) = row else {
        return Ok(None);
    };
    let person = Person::try_from(row)?;
    let expires = expires.to_jiff();
    let ended = revoked.to_jiff().map_or(expires, |at| at.min(expires));
    let open = at >= started.to_jiff() - SKEW && at <= ended + SKEW;
    Ok(open.then(|| Caller {
        person: person.id,
        facility: reading.facility(),
        session,
        roles: person.roles,
    }))
}
