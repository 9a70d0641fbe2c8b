//! Verifying the live ledger: every stored body against its link, its hash and its columns.

mod row;

use super::{hash, show_head};
use crate::database::{Database, Reading, StoreError};
use crate::schema::ledger_entries;
use diesel::dsl::min;
use diesel::prelude::*;
use diesel_async::{RunQueryDsl, SimpleAsyncConnection};
use jiff::Timestamp;
use lotwarden_ledger::{ChainCheck, Hash, Head, Reason};
use row::EntryRow;
use uuid::Uuid;

/// Entries read at a time: a few megabytes.
const CHUNK: i64 = 5_000;

/// A ledger whose checked entries all fit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Verified {
    /// The number of its entries.
    pub size: u64,
    /// How many of them, the last ones, were checked.
    pub checked: u64,
    /// The hash of its last entry, which is its head's.
    pub hash: Hash,
    /// The time of its last entry.
    pub at: Option<Timestamp>,
}

/// Why an entry of the live ledger does not fit.
#[derive(Debug, thiserror::Error)]
pub enum Misfit {
    /// Its body does not follow the entry before.
    #[error("{0}")]
    Chain(Reason),
    /// There is no such entry, though the head or a later entry says so.
    #[error("it is missing")]
    Missing,
    /// The hash stored with it is not that of its body.
    #[error("the hash stored with it is not the hash of its body")]
    Hash,
    /// A look-up column does not say what the body says.
    #[error("its column {0} does not say what its body says")]
    Column(&'static str),
    /// The head names another hash for the last entry.
    #[error("the ledger's head names the hash {head} for it; its own is {own}")]
    HeadHash {
        /// The head's.
        head: Hash,
        /// The entry's.
        own: Hash,
    },
    /// The head gives another time for the last entry.
    #[error("the ledger's head gives another time for it")]
    HeadTime,
    /// The entry lies beyond the head.
    #[error("it lies beyond the ledger's head")]
    BeyondHead,
}

/// Why a ledger is not verified.
#[derive(Debug, thiserror::Error)]
pub enum VerifyError {
    /// An entry does not fit; those before it that were checked do.
    #[error("entry {position} does not fit: {misfit}")]
    DoesNotFit {
        /// The position of the first one.
        position: u64,
        /// What is wrong with it.
        misfit: Misfit,
    },
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// The checking thread was ended.
    #[error("the check was interrupted")]
    Interrupted,
}

impl From<diesel::result::Error> for VerifyError {
    fn from(error: diesel::result::Error) -> Self {
        Self::Store(error.into())
    }
}

/// Verifies the whole ledger of a facility; `progress` is told how many entries are checked.
///
/// # Errors
/// [`VerifyError`].
pub async fn verify_all(
    database: &Database,
    facility: Uuid,
    progress: impl FnMut(u64),
) -> Result<Verified, VerifyError> {
    verify_tail(database, facility, u64::MAX, progress).await
}

/// Verifies the last entries of a facility's ledger, taking the one before them as given.
///
/// # Errors
/// [`VerifyError`].
pub async fn verify_tail(
    database: &Database,
    facility: Uuid,
    last: u64,
    progress: impl FnMut(u64),
) -> Result<Verified, VerifyError> {
    let mut reading = database.reading(facility).await?;
    // One snapshot, so that entries appended meanwhile do not look like entries beyond the head.
    reading
        .connection()
        .batch_execute("BEGIN ISOLATION LEVEL REPEATABLE READ READ ONLY")
        .await?;
    let verified = in_snapshot(&mut reading, last, progress).await;
    let ended = reading.connection().batch_execute("COMMIT").await;
    let verified = verified?;
    ended?;
    Ok(verified)
}

async fn in_snapshot(
    reading: &mut Reading,
    last: u64,
    mut progress: impl FnMut(u64),
) -> Result<Verified, VerifyError> {
    let head = show_head(reading).await?;
    let from = head.size.saturating_sub(last);
    if let Some(beyond) = beyond(reading, &head).await? {
        return Err(does_not_fit(beyond, Misfit::BeyondHead));
    }
    let Some(start) = before(reading, from).await? else {
        return Err(does_not_fit(from.saturating_sub(1), Misfit::Missing));
    };
    let mut check = ChainCheck::new(head.ledger, start).strict();
    let mut rows = load(reading, from).await?;
    while check.head().size < head.size {
        if rows.is_empty() {
            return Err(does_not_fit(check.head().size, Misfit::Missing));
        }
        // The next rows travel while these are hashed.
        let next = rows
            .last()
            .map_or(from, |row| row.position.cast_unsigned() + 1);
        let hashing = tokio::task::spawn_blocking(move || row::check_all(check, &rows));
        let (loaded, hashed) = tokio::join!(load(reading, next), hashing);
        let misfit;
        (check, misfit) = hashed.map_err(|_| VerifyError::Interrupted)?;
        if let Some(misfit) = misfit {
            return Err(does_not_fit(check.head().size, misfit));
        }
        progress(check.head().size - from);
        rows = loaded?;
    }
    compare(&head, check.head(), from)?;
    Ok(Verified {
        size: head.size,
        checked: head.size - from,
        hash: head.hash,
        at: head.at,
    })
}

const fn does_not_fit(position: u64, misfit: Misfit) -> VerifyError {
    VerifyError::DoesNotFit { position, misfit }
}

/// Compares the stored head with the last entry.
fn compare(head: &Head, own: &Head, from: u64) -> Result<(), VerifyError> {
    let position = head.size.saturating_sub(1);
    if head.hash != own.hash {
        let (head, own) = (head.hash, own.hash);
        return Err(does_not_fit(position, Misfit::HeadHash { head, own }));
    }
    // Where nothing was checked, the head of an empty ledger has no time.
    if head.size > from && head.at != own.at {
        return Err(does_not_fit(position, Misfit::HeadTime));
    }
    Ok(())
}

/// The first entry beyond the head, if there is one.
async fn beyond(reading: &mut Reading, head: &Head) -> Result<Option<u64>, StoreError> {
    let facility = reading.facility();
    let first: Option<i64> = ledger_entries::table
        .filter(ledger_entries::facility_id.eq(facility))
        .filter(ledger_entries::position.ge(head.size.cast_signed()))
        .select(min(ledger_entries::position))
        .first(reading.connection())
        .await?;
    Ok(first.map(i64::cast_unsigned))
}

/// The state the check starts from: none within for the first entry, none at all when the entry
/// before the first one checked is missing.
async fn before(reading: &mut Reading, from: u64) -> Result<Option<Option<Head>>, StoreError> {
    let Some(position) = from.checked_sub(1) else {
        return Ok(Some(None));
    };
    let ledger = reading.facility();
    let row: Option<(Vec<u8>, jiff_diesel::Timestamp)> = ledger_entries::table
        .find((ledger, position.cast_signed()))
        .select((ledger_entries::hash, ledger_entries::at))
        .first(reading.connection())
        .await
        .optional()?;
    let head = |(bytes, at): (Vec<u8>, jiff_diesel::Timestamp)| {
        Ok(Some(Head {
            ledger,
            size: from,
            hash: hash(&bytes)?,
            at: Some(at.to_jiff()),
        }))
    };
    row.map(head).transpose()
}

async fn load(reading: &mut Reading, from: u64) -> Result<Vec<EntryRow>, StoreError> {
    let facility = reading.facility();
    let rows = ledger_entries::table
        .filter(ledger_entries::facility_id.eq(facility))
        .filter(ledger_entries::position.ge(from.cast_signed()))
        .order(ledger_entries::position)
        .limit(CHUNK)
        .select(EntryRow::as_select())
        .load(reading.connection())
        .await?;
    Ok(rows)
}
