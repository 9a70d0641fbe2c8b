//! Listing ledger entries.

use super::{hash, show_head};
use crate::database::{Reading, StoreError};
use crate::schema::{ledger_entries, scans};
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::sql_types::Bool;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use lotwarden_ledger::Hash;
use uuid::Uuid;

/// Which entries are asked for.
#[derive(Clone, Debug, Default)]
pub struct EntryFilter {
    /// Only those of a case.
    pub case: Option<Uuid>,
    /// Only those of somebody, as the ledger writes it: `person:<id>`, `operator:<account>`.
    pub actor: Option<String>,
    /// Only those about something: `product:<id>`, `scan:<id>`.
    pub subject: Option<String>,
    /// Only those of an action.
    pub action: Option<String>,
    /// Only those from an instant on.
    pub from: Option<Timestamp>,
    /// Only those before an instant.
    pub before: Option<Timestamp>,
}

/// An entry as it is stored.
#[derive(Clone, Debug)]
pub struct LedgerEntry {
    /// Its position.
    pub position: u64,
    /// SHA-256(0x00 || body).
    pub hash: Hash,
    /// The exact text that is hashed: canonical JSON.
    pub body: String,
}

/// Entries in the order of the ledger, and the position to go on after when there are more.
#[derive(Clone, Debug)]
pub struct EntryPage {
    /// The entries.
    pub items: Vec<LedgerEntry>,
    /// The last position, when more entries follow.
    pub next: Option<u64>,
}

/// Lists entries after a position, oldest first, at most `limit` of them.
///
/// # Errors
/// [`StoreError`].
pub async fn list_entries(
    reading: &mut Reading,
    filter: &EntryFilter,
    after: Option<u64>,
    limit: u16,
) -> Result<EntryPage, StoreError> {
    let mut first = after.map_or(0, |position| position + 1);
    let mut end = show_head(reading).await?.size;
    if let Some(from) = filter.from {
        first = first.max(position_at(reading, from, end).await?);
    }
    if let Some(before) = filter.before {
        end = position_at(reading, before, end).await?;
    }
    let mut query = ledger_entries::table
        .filter(ledger_entries::facility_id.eq(reading.facility()))
        .filter(ledger_entries::position.ge(first.cast_signed()))
        .filter(ledger_entries::position.lt(end.cast_signed()))
        .order(ledger_entries::position)
        .limit(i64::from(limit) + 1)
        .select((
            ledger_entries::position,
            ledger_entries::hash,
            ledger_entries::body,
        ))
        .into_boxed();
    if let Some(case) = filter.case {
        // Two indexes: the one by case has no scans, which know their own positions.
        let scanned: Vec<i64> = scans::table
            .filter(scans::case_id.eq(case))
            .filter(scans::position.ge(first.cast_signed()))
            .filter(scans::position.lt(end.cast_signed()))
            .order(scans::position)
            .limit(i64::from(limit) + 1)
            .select(scans::position)
            .load(reading.connection())
            .await?;
        let other = ledger_entries::case_id
            .eq(case)
            .assume_not_null()
            // As text: a parameter would hide from PostgreSQL that the index holds these rows.
            .and(sql::<Bool>("action <> 'record_scan'"));
        query = query.filter(ledger_entries::position.eq_any(scanned).or(other));
    }
    if let Some(actor) = &filter.actor {
        query = query.filter(ledger_entries::actor.eq(actor));
    }
    if let Some(subject) = &filter.subject {
        query = query.filter(ledger_entries::subject.eq(subject));
    }
    if let Some(action) = &filter.action {
        query = query.filter(ledger_entries::action.eq(action));
    }
    let rows: Vec<(i64, Vec<u8>, Vec<u8>)> = query.load(reading.connection()).await?;
    let mut items = rows
        .into_iter()
        .map(LedgerEntry::of)
        .collect::<Result<Vec<_>, _>>()?;
    let more = items.len() > usize::from(limit);
    items.truncate(usize::from(limit));
    let next = items.last().filter(|_| more).map(|entry| entry.position);
    Ok(EntryPage { items, next })
}

impl LedgerEntry {
    fn of((position, bytes, body): (i64, Vec<u8>, Vec<u8>)) -> Result<Self, StoreError> {
        Ok(Self {
            position: position.cast_unsigned(),
            hash: hash(&bytes)?,
            body: String::from_utf8(body).map_err(|_| StoreError::Unfit)?,
        })
    }
}

/// The position of the first entry not before an instant, or `size`. Times never step back along
/// the ledger, so halving finds it without an index.
async fn position_at(
    reading: &mut Reading,
    instant: Timestamp,
    size: u64,
) -> Result<u64, StoreError> {
    let (mut low, mut high) = (0, size);
    while low < high {
        let middle = low + (high - low) / 2;
        let at: jiff_diesel::Timestamp = ledger_entries::table
            .find((reading.facility(), middle.cast_signed()))
            .select(ledger_entries::at)
            .first(reading.connection())
            .await?;
        if at.to_jiff() < instant {
            low = middle + 1;
        } else {
            high = middle;
        }
    }
    Ok(low)
}
