//! Committing a batch of scans.

use super::super::columns::Statements;
use super::super::job::Failure;
use diesel_async::{AsyncPgConnection, RunQueryDsl, SimpleAsyncConnection};

/// Commits a batch; several may be under way on one connection, each after the one before.
/// `begun` says that a transaction with the head locked is open.
pub(super) async fn commit(
    mut connection: &AsyncPgConnection,
    statements: Statements,
    begun: bool,
) -> Result<(), Failure> {
    let Statements { commit, newcomers } = statements;
    if newcomers.is_none() && !begun {
        // A crash before this returns leaves nothing or everything.
        let (moved,): (i64,) = commit
            .get_result(&mut connection)
            .await
            .map_err(unsure_if_lost)?;
        return if moved == 1 {
            Ok(())
        } else {
            Err(Failure::HeadMoved)
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
    connection
        .batch_execute("COMMIT")
        .await
        .map_err(Failure::Unsure)
}

/// An error the server sent means the statement was rolled back; any other may have come after
/// the commit.
fn unsure_if_lost(error: diesel::result::Error) -> Failure {
    match error {
        diesel::result::Error::DatabaseError(kind, _)
            if !matches!(kind, diesel::result::DatabaseErrorKind::ClosedConnection) =>
        {
            Failure::Database(error)
        }
        other => Failure::Unsure(other),
    }
}
