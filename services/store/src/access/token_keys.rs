//! The keys that sign access tokens.

use crate::database::{Database, StoreError};
use crate::schema::token_keys;
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::{AsyncConnection, AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use zeroize::Zeroizing;

pub(crate) const PURPOSE: &[u8] = b"token key";

/// A key pair that signs access tokens (Ed25519).
#[derive(Clone)]
pub struct TokenKey {
    /// The key's id, as tokens name it.
    pub kid: String,
    /// The public key: 32 bytes.
    pub public: Vec<u8>,
    /// The private key in PKCS #8 form.
    pub private: Zeroizing<Vec<u8>>,
}

impl std::fmt::Debug for TokenKey {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("TokenKey")
            .field("kid", &self.kid)
            .finish_non_exhaustive()
    }
}

/// Every token key, the newest first; the first start keeps the one it is offered.
///
/// # Errors
/// [`StoreError`].
pub async fn token_keys(
    database: &Database,
    master: &Key,
    first: impl FnOnce() -> TokenKey + Send,
    at: Timestamp,
) -> Result<Vec<TokenKey>, StoreError> {
    let mut outside = database.outside().await?;
    let rows = outside
        .connection()
        .transaction(async |connection| {
            // Two processes that start at once keep one and the same.
            connection
                .batch_execute("SELECT pg_advisory_xact_lock(hashtext('lotwarden token keys'))")
                .await?;
            let rows = keys(connection).await?;
            if !rows.is_empty() {
                return Ok::<_, StoreError>(rows);
            }
            let key = first();
            diesel::insert_into(token_keys::table)
                .values((
                    token_keys::kid.eq(&key.kid),
                    token_keys::public_key.eq(&key.public),
                    token_keys::sealed_private_key.eq(master.seal(PURPOSE, &key.private)?),
                    token_keys::created_at.eq(at.to_diesel()),
                ))
                .execute(connection)
                .await?;
            keys(connection).await
        })
        .await?;
    rows.into_iter()
        .map(|(kid, public, sealed)| {
            Ok(TokenKey {
                kid,
                public,
                private: master.open(PURPOSE, &sealed)?,
            })
        })
        .collect()
}

type Row = (String, Vec<u8>, Vec<u8>);

async fn keys(connection: &mut AsyncPgConnection) -> Result<Vec<Row>, StoreError> {
    let rows = token_keys::table
        .order((token_keys::created_at.desc(), token_keys::kid))
        .select((
            token_keys::kid,
            token_keys::public_key,
            token_keys::sealed_private_key,
        ))
        .load(connection)
        .await?;
    Ok(rows)
}
