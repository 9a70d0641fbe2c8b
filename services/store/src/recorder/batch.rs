//! Entries and the head they move, as rows.

use super::job::Failure;
use crate::database::StoreError;
use diesel::sql_types::{Array, BigInt, Bytea, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel::{OptionalExtension, QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff_diesel::ToDiesel;
use lotwarden_ledger::{Entry, Hash, Head};
use uuid::Uuid;

/// An entry with what is kept beside its body for look-up.
pub(crate) struct NewEntry {
    pub(crate) entry: Entry,
    pub(crate) action: &'static str,
    pub(crate) actor: String,
    pub(crate) subject: String,
    pub(crate) case: Option<Uuid>,
}

#[derive(QueryableByName)]
struct HeadRow {
    #[diesel(sql_type = BigInt)]
    size: i64,
    #[diesel(sql_type = Bytea)]
    hash: Vec<u8>,
    #[diesel(sql_type = Nullable<Timestamptz>)]
    at: Option<jiff_diesel::Timestamp>,
}

/// Reads the head; with `lock`, other writers wait until this transaction ends.
pub(crate) async fn head(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    lock: bool,
) -> Result<Head, StoreError> {
    let lock = if lock { " FOR UPDATE" } else { "" };
    let text = format!("SELECT size, hash, at FROM ledger_heads WHERE facility_id = $1{lock}");
    let row: HeadRow = sql_query(text)
        .bind::<SqlUuid, _>(facility)
        .get_result(connection)
        .await
        .optional()?
        .ok_or(StoreError::Unfit)?;
    let hash: [u8; 32] = row.hash.try_into().map_err(|_| StoreError::Unfit)?;
    Ok(Head {
        ledger: facility,
        size: row.size.cast_unsigned(),
        hash: Hash::from_bytes(hash),
        at: row.at.map(|at| at.to_jiff()),
    })
}

/// The entries of one commit as columns, ready to bind.
#[derive(Default)]
pub(crate) struct EntryColumns {
    pub(crate) position: Vec<i64>,
    pub(crate) at: Vec<jiff_diesel::Timestamp>,
    pub(crate) action: Vec<&'static str>,
    pub(crate) actor: Vec<String>,
    pub(crate) subject: Vec<String>,
    pub(crate) case: Vec<Option<Uuid>>,
    pub(crate) hash: Vec<Vec<u8>>,
    pub(crate) body: Vec<Vec<u8>>,
}

impl EntryColumns {
    pub(crate) fn push(&mut self, new: NewEntry) {
        self.position.push(new.entry.position.cast_signed());
        self.at.push(new.entry.at.to_diesel());
        self.action.push(new.action);
        self.actor.push(new.actor);
        self.subject.push(new.subject);
        self.case.push(new.case);
        self.hash.push(new.entry.hash.as_bytes().to_vec());
        self.body.push(new.entry.body);
    }
}

/// Writes entries and moves the head to `head` from `size`, inside the caller's transaction.
///
/// # Errors
/// [`Failure::HeadMoved`] when the head was not at `size` any more.
pub(crate) async fn write_entries(
    connection: &mut AsyncPgConnection,
    size: u64,
    head: &Head,
    entries: Vec<NewEntry>,
) -> Result<(), Failure> {
    let mut columns = EntryColumns::default();
    entries.into_iter().for_each(|entry| columns.push(entry));
    let moved = sql_query(
        "WITH head AS (
            UPDATE ledger_heads SET size = $2, hash = $3, at = $4
            WHERE facility_id = $1 AND size = $5 RETURNING facility_id)
         INSERT INTO ledger_entries (facility_id, position, at, action, actor, subject, case_id, hash, body)
         SELECT head.facility_id, e.* FROM head,
            unnest($6, $7, $8, $9, $10, $11, $12, $13) AS e",
    )
    .bind::<SqlUuid, _>(head.ledger)
    .bind::<BigInt, _>(head.size.cast_signed())
    .bind::<Bytea, _>(head.hash.as_bytes().to_vec())
    .bind::<Nullable<Timestamptz>, _>(head.at.map(ToDiesel::to_diesel))
    .bind::<BigInt, _>(size.cast_signed())
    .bind::<Array<BigInt>, _>(columns.position)
    .bind::<Array<Timestamptz>, _>(columns.at)
    .bind::<Array<Text>, _>(columns.action)
    .bind::<Array<Text>, _>(columns.actor)
    .bind::<Array<Text>, _>(columns.subject)
    .bind::<Array<Nullable<SqlUuid>>, _>(columns.case)
    .bind::<Array<Bytea>, _>(columns.hash)
    .bind::<Array<Bytea>, _>(columns.body)
    .execute(connection)
    .await?;
    if moved == 0 {
        Err(Failure::HeadMoved)
    } else {
        Ok(())
    }
}
