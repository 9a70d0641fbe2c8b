//! How a connection is made, and when the writer's own ends.

use diesel::{ConnectionError, ConnectionResult};
use diesel_async::AsyncPgConnection;
use std::future::poll_fn;
use std::time::Duration;
use tokio_postgres::error::{DbError, Severity, SqlState};
use tokio_postgres::{AsyncMessage, Config, NoTls};

/// tokio-postgres' own, which stands for a URL that says nothing.
const UNSAID_IDLE: Duration = Duration::from_secs(2 * 60 * 60);

/// The URL's settings; where it says nothing, a server that fell silent is given up within some
/// 90 seconds instead of two hours. A Unix socket knows no silence.
fn config(url: &str) -> ConnectionResult<Config> {
    let mut config: Config = url.parse().map_err(bad)?;
    if config.get_connect_timeout().is_none() {
        config.connect_timeout(Duration::from_secs(10));
    }
    if config.get_tcp_user_timeout().is_none() {
        config.tcp_user_timeout(Duration::from_secs(30));
    }
    if config.get_keepalives_idle() == UNSAID_IDLE {
        config.keepalives_idle(Duration::from_secs(60));
    }
    if config.get_keepalives_interval().is_none() {
        config.keepalives_interval(Duration::from_secs(10));
    }
    if config.get_keepalives_retries().is_none() {
        config.keepalives_retries(3);
    }
    Ok(config)
}

fn bad(error: tokio_postgres::Error) -> ConnectionError {
    ConnectionError::BadConnection(error.to_string())
}

/// A connection for reads.
pub(super) async fn reading(url: String) -> ConnectionResult<AsyncPgConnection> {
    let (client, connection) = config(&url)?.connect(NoTls).await.map_err(bad)?;
    AsyncPgConnection::try_from_client_and_connection(client, connection).await
}

/// A connection for commits: it ends, and with it the commit under way, when the server says that
/// a commit did not wait for its standby. The server calls that a success.
pub(super) async fn writing(url: &str) -> ConnectionResult<AsyncPgConnection> {
    let (client, mut connection) = config(url)?.connect(NoTls).await.map_err(bad)?;
    tokio::spawn(async move {
        loop {
            match poll_fn(|context| connection.poll_message(context)).await {
                Some(Ok(AsyncMessage::Notice(notice))) if did_not_wait(&notice) => {
                    tracing::error!(%notice, "a commit did not wait for its standby; the connection is given up");
                    return;
                }
                Some(Ok(_)) => {}
                Some(Err(error)) => {
                    tracing::warn!(%error, "a writer's connection ended");
                    return;
                }
                None => return,
            }
        }
    });
    AsyncPgConnection::try_from(client).await
}

/// PostgreSQL's `SyncRepWaitForLSN` warns without a code of its own when the wait is cancelled, and
/// with that of a shutdown when the session is ended.
fn did_not_wait(notice: &DbError) -> bool {
    let codes = [SqlState::WARNING, SqlState::ADMIN_SHUTDOWN];
    notice.parsed_severity() == Some(Severity::Warning) && codes.contains(notice.code())
}
