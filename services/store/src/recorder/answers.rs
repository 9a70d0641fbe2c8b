//! Kept answers: a request that comes again with its key gets the same bytes.

use super::job::{Failure, Waiting};
use super::{Answer, Rendered};
use crate::schema::answers;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use uuid::Uuid;

/// A transaction that writes a mark to the log: its commit returns when everything before it is
/// durable, on a synchronous standby too.
pub(crate) const FLUSH: &str = "SELECT pg_logical_emit_message(true, '', '')";

/// What is known of a request's key.
pub(crate) enum Kept {
    /// The key is new.
    Nothing,
    /// The same request was answered before.
    Answer(Answer),
    /// The key was used for another request.
    Reused,
}

/// Looks for the kept answer to a request.
pub(crate) async fn find(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    waiting: &Waiting,
) -> Result<Kept, Failure> {
    let Some((request, fingerprint)) = waiting.kept_under(facility) else {
        return Ok(Kept::Nothing);
    };
    type Row = (Vec<u8>, i16, Vec<u8>, Option<String>);
    let row: Option<Row> = answers::table
        .find(request)
        .select((
            answers::fingerprint,
            answers::status,
            answers::body,
            answers::etag,
        ))
        .first(connection)
        .await
        .optional()?;
    Ok(match row {
        None => Kept::Nothing,
        Some((kept, ..)) if kept != fingerprint => Kept::Reused,
        Some((_, status, body, etag)) => Kept::Answer(Answer {
            rendered: Rendered {
                status: status.cast_unsigned(),
                body,
                etag,
            },
            replayed: true,
        }),
    })
}

/// Keeps an answer in the open transaction.
pub(crate) async fn keep(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    waiting: &Waiting,
    rendered: &Rendered,
    at: Timestamp,
) -> Result<(), Failure> {
    let Some((request, fingerprint)) = waiting.kept_under(facility) else {
        return Ok(());
    };
    diesel::insert_into(answers::table)
        .values((
            answers::facility_id.eq(facility),
            answers::request.eq(request),
            answers::fingerprint.eq(fingerprint.as_slice()),
            answers::status.eq(rendered.status.cast_signed()),
            answers::body.eq(&rendered.body),
            answers::etag.eq(&rendered.etag),
            answers::at.eq(at.to_diesel()),
        ))
        .execute(connection)
        .await?;
    Ok(())
}
