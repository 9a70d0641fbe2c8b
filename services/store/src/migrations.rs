//! The schema's versions, brought up by the owner role.

use crate::database::OWNER_ROLE;
use diesel_async::{
    AsyncConnection, AsyncMigrationHarness, AsyncPgConnection, SimpleAsyncConnection,
};
use diesel_migrations::{EmbeddedMigrations, MigrationHarness, embed_migrations};

const MIGRATIONS: EmbeddedMigrations = embed_migrations!("../../migrations");

/// The schema could not be brought up.
#[derive(Debug, thiserror::Error)]
pub enum MigrateError {
    /// No connection could be had.
    #[error("the database cannot be reached with the owner's login")]
    Unreachable(#[from] diesel::ConnectionError),
    /// The login may not act as the owner, or the lock could not be had.
    #[error("the login cannot act as the role lotwarden_owner")]
    NotOwner(#[from] diesel::result::Error),
    /// A migration failed; nothing of it stays.
    #[error("a migration failed and was rolled back")]
    Failed(#[source] Box<dyn std::error::Error + Send + Sync>),
    /// The migration thread could not be started or ended early.
    #[error("the migration could not be run")]
    NotRun,
}

/// Brings the schema up to this version and returns the versions applied now.
///
/// Two processes that start at once take turns: an advisory lock is held for the whole run.
///
/// # Errors
/// [`MigrateError`].
pub fn up(owner_url: &str) -> Result<Vec<String>, MigrateError> {
    with_harness(owner_url, |harness| {
        let applied = harness.run_pending_migrations(MIGRATIONS)?;
        Ok(applied.iter().map(ToString::to_string).collect())
    })
}

/// Takes every migration back, newest first, and returns their versions; for tests and for giving
/// a database back.
///
/// # Errors
/// [`MigrateError`].
pub fn down(owner_url: &str) -> Result<Vec<String>, MigrateError> {
    with_harness(owner_url, |harness| {
        let reverted = harness.revert_all_migrations(MIGRATIONS)?;
        Ok(reverted.iter().map(ToString::to_string).collect())
    })
}

type Harness = AsyncMigrationHarness<AsyncPgConnection>;
type Outcome = Result<Vec<String>, Box<dyn std::error::Error + Send + Sync>>;

/// Runs on a thread with a runtime of its own, because the harness blocks inside one.
fn with_harness(
    owner_url: &str,
    work: fn(&mut Harness) -> Outcome,
) -> Result<Vec<String>, MigrateError> {
    let url = owner_url.to_owned();
    let thread = std::thread::spawn(move || {
        let runtime = tokio::runtime::Builder::new_multi_thread()
            .worker_threads(1)
            .enable_all()
            .build()
            .map_err(|_| MigrateError::NotRun)?;
        runtime.block_on(async {
            let mut connection = AsyncPgConnection::establish(&url).await?;
            let enter = format!(
                "SELECT pg_advisory_lock(hashtext('lotwarden migrations')); SET ROLE {OWNER_ROLE}"
            );
            connection.batch_execute(&enter).await?;
            work(&mut AsyncMigrationHarness::new(connection)).map_err(MigrateError::Failed)
        })
    });
    thread.join().map_err(|_| MigrateError::NotRun)?
}
