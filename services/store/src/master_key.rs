//! Which master key a database is sealed with, and sealing it anew with another.

use crate::access::token_keys::PURPOSE;
use crate::database::{OWNER_ROLE, StoreError};
use crate::recorder::Failure;
use crate::recorder::batch::{self, NewEntry};
use crate::schema::{facilities, installation, token_keys};
use crate::sealing::{FACILITY_KEY, Key, SealError};
use diesel::prelude::*;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::Actor;
use lotwarden_ledger::Event;
use serde::Serialize;
use uuid::Uuid;

/// Why a master key cannot be used or replaced.
#[derive(Debug, thiserror::Error)]
pub enum MasterKeyError {
    /// The database is sealed with another key.
    #[error("the database is sealed with another master key")]
    Other,
    /// The database.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// A ledger's entry could not be written.
    #[error("the entry of the new key cannot be written")]
    Ledger(#[from] Failure),
}

impl From<diesel::result::Error> for MasterKeyError {
    fn from(error: diesel::result::Error) -> Self {
        Self::Store(error.into())
    }
}

impl From<SealError> for MasterKeyError {
    fn from(error: SealError) -> Self {
        Self::Store(error.into())
    }
}

/// What a database keeps of its master key.
fn check_of(master: &Key) -> Result<[u8; 32], SealError> {
    master.lookup(b"key check")
}

async fn owner(owner_url: &str) -> Result<AsyncPgConnection, MasterKeyError> {
    let mut connection = AsyncPgConnection::establish(owner_url)
        .await
        .map_err(StoreError::Unreachable)?;
    connection
        .batch_execute(&format!("SET ROLE {OWNER_ROLE}"))
        .await?;
    Ok(connection)
}

/// Whether the database is sealed with a master key already.
///
/// # Errors
/// [`MasterKeyError::Store`].
pub async fn is_sealed(owner_url: &str) -> Result<bool, MasterKeyError> {
    let mut connection = owner(owner_url).await?;
    let checks: i64 = installation::table
        .count()
        .get_result(&mut connection)
        .await?;
    let keys: i64 = facilities::table
        .count()
        .get_result(&mut connection)
        .await?;
    Ok(checks + keys > 0)
}

/// Makes sure that the master key is the one the database is sealed with; the first key becomes it.
///
/// # Errors
/// [`MasterKeyError::Other`] when it is not.
pub async fn establish(owner_url: &str, master: &Key, at: Timestamp) -> Result<(), MasterKeyError> {
    let mut connection = owner(owner_url).await?;
    connection
        .transaction(async |connection| {
            let check = check_of(master)?;
            let known: Option<Vec<u8>> = installation::table
                .select(installation::key_check)
                .first(connection)
                .await
                .optional()?;
            match known {
                Some(known) if known == check => return Ok(()),
                Some(_) => return Err(MasterKeyError::Other),
                None => {}
            }
            let wrapped: Option<Vec<u8>> = facilities::table
                .select(facilities::wrapped_key)
                .first(connection)
                .await
                .optional()?;
            if wrapped.is_some_and(|wrapped| master.unwrap(FACILITY_KEY, &wrapped).is_err()) {
                return Err(MasterKeyError::Other);
            }
            // Two first starts at once have one key: its file is made once.
            diesel::insert_into(installation::table)
                .values((
                    installation::key_check.eq(check.as_slice()),
                    installation::since.eq(at.to_diesel()),
                ))
                .on_conflict_do_nothing()
                .execute(connection)
                .await?;
            Ok(())
        })
        .await
}

#[derive(Serialize)]
struct Nothing {}

/// Seals every facility key and token key anew, with an entry in each ledger: all in one commit.
///
/// What a facility's key seals stays as it is. No process may be serving: it would go on with the
/// old key.
///
/// # Errors
/// [`MasterKeyError`]; nothing was changed then.
pub async fn rotate(
    owner_url: &str,
    old: &Key,
    new: &Key,
    account: &str,
    at: Timestamp,
) -> Result<usize, MasterKeyError> {
    let mut connection = owner(owner_url).await?;
    connection
        .transaction(async |connection| {
            let of_old =
                installation::table.filter(installation::key_check.eq(check_of(old)?.to_vec()));
            let moved = diesel::update(of_old)
                .set((
                    installation::key_check.eq(check_of(new)?.to_vec()),
                    installation::since.eq(at.to_diesel()),
                ))
                .execute(connection)
                .await?;
            if moved == 0 {
                return Err(MasterKeyError::Other);
            }
            let keys: Vec<(String, Vec<u8>)> = token_keys::table
                .select((token_keys::kid, token_keys::sealed_private_key))
                .load(connection)
                .await?;
            for (kid, sealed) in keys {
                let resealed = new.seal(PURPOSE, &old.open(PURPOSE, &sealed)?)?;
                diesel::update(token_keys::table.find(kid))
                    .set(token_keys::sealed_private_key.eq(resealed))
                    .execute(connection)
                    .await?;
            }
            let facilities: Vec<(Uuid, Vec<u8>)> = facilities::table
                .select((facilities::id, facilities::wrapped_key))
                .load(connection)
                .await?;
            let count = facilities.len();
            for (id, wrapped) in facilities {
                let rewrapped = new.seal(FACILITY_KEY, &old.open(FACILITY_KEY, &wrapped)?)?;
                diesel::update(facilities::table.find(id))
                    .set(facilities::wrapped_key.eq(rewrapped))
                    .execute(connection)
                    .await?;
                entry(connection, id, account, at).await?;
            }
            Ok(count)
        })
        .await
}

async fn entry(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    account: &str,
    at: Timestamp,
) -> Result<(), MasterKeyError> {
    let mut head = batch::head(connection, facility, true).await?;
    let size = head.size;
    let actor = Actor::Operator(account.to_owned()).to_string();
    let subject = format!("facility:{facility}");
    let event = Event::new(
        "rotate_keys",
        actor.clone(),
        None,
        subject.clone(),
        &Nothing {},
    );
    let entry = head
        .append(&event.map_err(Failure::from)?, at)
        .map_err(Failure::from)?;
    let new = NewEntry {
        entry,
        action: "rotate_keys",
        actor,
        subject,
        case: None,
    };
    batch::write_entries(connection, size, &head, vec![new]).await?;
    Ok(())
}
