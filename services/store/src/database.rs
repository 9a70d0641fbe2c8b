//! Connections: each sees the rows of one facility and nothing else.

mod establish;

use diesel_async::pg::TransactionBuilder;
use diesel_async::pooled_connection::deadpool::{Object, Pool};
use diesel_async::pooled_connection::{AsyncDieselConnectionManager, ManagerConfig};
use diesel_async::{AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};
use futures_util::FutureExt;
use std::fmt;
use std::time::Duration;
use uuid::Uuid;

/// The database cannot be reached or answered with an error.
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// No connection could be had.
    #[error("the database cannot be reached")]
    Unreachable(#[source] diesel::ConnectionError),
    /// No connection came free in time.
    #[error("no database connection came free in time")]
    Exhausted,
    /// A query failed.
    #[error("a database query failed")]
    Query(#[from] diesel::result::Error),
    /// Sealed data does not open with this installation's keys.
    #[error("sealed data does not open with this installation's keys")]
    Sealed(#[from] crate::sealing::SealError),
    /// A row holds a value that this version does not know.
    #[error("a stored row does not fit this version of the service")]
    Unfit,
}

/// How a connection is made, and the pool that reads come from.
#[derive(Clone)]
pub struct Database {
    url: String,
    role: Option<&'static str>,
    pool: Pool<AsyncPgConnection>,
}

impl fmt::Debug for Database {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Database").finish_non_exhaustive()
    }
}

/// The group role whose rights the service works with.
pub const APPLICATION_ROLE: &str = "lotwarden_app";
/// The group role that owns the schema.
pub const OWNER_ROLE: &str = "lotwarden_owner";

impl Database {
    /// Prepares connections as the application role to the database at the URL; connects lazily.
    ///
    /// Whatever the login may do, its sessions drop to the application role first.
    ///
    /// # Errors
    /// [`StoreError::Exhausted`] when the pool cannot be built.
    pub fn new(url: &str, readers: usize) -> Result<Self, StoreError> {
        let mut config = ManagerConfig::default();
        config.custom_setup = Box::new(|url| establish::reading(url.to_owned()).boxed());
        let manager = AsyncDieselConnectionManager::new_with_config(url, config);
        let pool = Pool::builder(manager)
            .max_size(readers)
            .wait_timeout(Some(Duration::from_secs(5)))
            .runtime(deadpool::Runtime::Tokio1)
            .build()
            .map_err(|_| StoreError::Exhausted)?;
        Ok(Self {
            url: url.to_owned(),
            role: Some(APPLICATION_ROLE),
            pool,
        })
    }

    /// Opens a connection of its own that sees one facility's rows.
    ///
    /// # Errors
    /// [`StoreError::Unreachable`] or [`StoreError::Query`].
    pub(crate) async fn connect(&self, facility: Uuid) -> Result<AsyncPgConnection, StoreError> {
        let mut connection = establish::writing(&self.url)
            .await
            .map_err(StoreError::Unreachable)?;
        self.enter(&mut connection, facility).await?;
        Ok(connection)
    }

    /// Borrows a pooled connection that sees one facility's rows.
    ///
    /// # Errors
    /// [`StoreError::Exhausted`], [`StoreError::Unreachable`] or [`StoreError::Query`].
    pub async fn reading(&self, facility: Uuid) -> Result<Reading, StoreError> {
        let mut connection = self.pool.get().await.map_err(|_| StoreError::Exhausted)?;
        self.enter(&mut connection, facility).await?;
        Ok(Reading {
            connection,
            facility,
        })
    }

    /// Borrows a pooled connection that sees only what belongs to no facility.
    ///
    /// # Errors
    /// As [`Self::reading`].
    pub(crate) async fn outside(&self) -> Result<Reading, StoreError> {
        self.reading(Uuid::nil()).await
    }

    async fn enter(
        &self,
        connection: &mut AsyncPgConnection,
        facility: Uuid,
    ) -> Result<(), StoreError> {
        // One batch, one way to the database and back: every read begins with this. Compiling a
        // statement takes longer than the rows that a short one reads.
        let role = self.role.map(|role| format!("SET ROLE {role};"));
        let role = role.unwrap_or_default();
        let batch = format!(
            "{role}SET jit = off;SELECT set_config('lotwarden.facility', '{facility}', false)"
        );
        Ok(connection.batch_execute(&batch).await?)
    }

    /// Whether the database answers.
    ///
    /// # Errors
    /// As [`Self::reading`].
    pub async fn ping(&self) -> Result<(), StoreError> {
        let mut reading = self.outside().await?;
        diesel::sql_query("SELECT 1")
            .execute(reading.connection())
            .await?;
        Ok(())
    }
}

/// A borrowed connection for reads in one facility.
pub struct Reading {
    connection: Object<AsyncPgConnection>,
    facility: Uuid,
}

impl fmt::Debug for Reading {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.debug_struct("Reading")
            .field("facility", &self.facility)
            .finish_non_exhaustive()
    }
}

impl Reading {
    pub(crate) fn connection(&mut self) -> &mut AsyncPgConnection {
        &mut self.connection
    }

    /// Several reads that see one and the same state, whatever is written meanwhile.
    pub(crate) fn snapshot(&mut self) -> TransactionBuilder<'_, AsyncPgConnection> {
        self.connection
            .build_transaction()
            .repeatable_read()
            .read_only()
    }

    /// The facility whose rows are seen.
    #[must_use]
    pub const fn facility(&self) -> Uuid {
        self.facility
    }
}

/// Whether the error is the violation of the named constraint.
pub(crate) fn violates(error: &diesel::result::Error, constraint: &str) -> bool {
    matches!(error, diesel::result::Error::DatabaseError(_, info)
        if info.constraint_name() == Some(constraint))
}
