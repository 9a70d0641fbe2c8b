//! Committing a batch of scans.

use super::super::columns::Statements;
use super::super::job::Failure;
use diesel_async::{AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};

/// Commits a batch; several may be under way on one connection, each after the one before.
/// `begun` says that a transaction with the head locked is open.
///
/// Whether a commit that did not come back stands is not known. Its scans may be tried again all the
/// same, because a scan's key counts once.
pub(super) async fn commit(
    mut connection: &AsyncPgConnection,
    statements: Statements,
    begun: bool,
) -> Result<(), Failure> {
    let Statements { commit, newcomers } = statements;
    if newcomers.is_none() && !begun {
        // A crash before this returns leaves nothing or everything. All rows are asked for, because
        // the one row comes before the commit, and the end of them after it.
        let moved: Vec<(i64,)> = commit.load(&mut connection).await?;
        return match moved[..] {
            [(1,)] => Ok(()),
            _ => Err(Failure::HeadMoved),
        };
    }
    if !begun {
        connection.batch_execute("BEGIN").await?;
    }
    let (moved,): (i64,) = commit.get_result(&mut connection).await?;
    if moved != 1 {
        return Err(Failure::HeadMoved);
    }
    if let Some(newcomers) = newcomers {
        let _: (bool,) = newcomers.get_result(&mut connection).await?;
    }
    Ok(connection.batch_execute("COMMIT").await?)
}
