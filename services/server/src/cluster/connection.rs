//! Connections for the few statements the server itself sends.

use std::future::Future;
use std::thread::sleep;
use std::time::{Duration, Instant};

use tokio_postgres::error::SqlState;
use tokio_postgres::{Client, NoTls};

use super::Progress;
use crate::settings::SecretUrl;

/// Longest wait for a server that says it is starting up or recovering.
const LONGEST_RECOVERY: Duration = Duration::from_secs(3600);

/// Longest wait for a server that says nothing at all.
const LONGEST_SILENCE: Duration = Duration::from_secs(60);

/// Why a login does not get in.
#[derive(Debug, thiserror::Error)]
pub enum ConnectError {
    /// No runtime for the connection.
    #[error("cannot set up the database connection")]
    Runtime(#[source] std::io::Error),
    /// The server cannot be reached or refuses.
    #[error("cannot connect to {url}")]
    Refused {
        /// The connection string, without its password.
        url: SecretUrl,
        /// The driver's reason.
        source: tokio_postgres::Error,
    },
}

impl ConnectError {
    /// Whether the server knows the login by another password.
    pub fn is_wrong_password(&self) -> bool {
        matches!(self, Self::Refused { source, .. } if source.code() == Some(&SqlState::INVALID_PASSWORD))
    }
}

/// Connects, lets `work` use the client, and disconnects.
pub fn with_client<T, E, Work>(url: &SecretUrl, work: impl FnOnce(Client) -> Work) -> Result<T, E>
where
    E: From<ConnectError>,
    Work: Future<Output = Result<T, E>>,
{
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .map_err(ConnectError::Runtime)?;
    runtime.block_on(async {
        let connected = tokio_postgres::connect(url.expose(), NoTls).await;
        let (client, connection) = connected.map_err(|source| ConnectError::Refused {
            url: url.clone(),
            source,
        })?;
        // Its own error reaches the client as well, so nothing is lost here.
        let background = tokio::spawn(connection);
        let done = work(client).await;
        let _ = background.await;
        done
    })
}

/// Waits until the server lets this login in.
///
/// # Errors
/// It refuses for another reason than that it is starting, stays silent for a
/// minute, or recovers for more than an hour.
pub fn wait_until_accepting(url: &SecretUrl, progress: Progress<'_>) -> Result<(), ConnectError> {
    let begun = Instant::now();
    let mut said = 0;
    loop {
        let refused = match with_client(url, |_| async { Ok::<_, ConnectError>(()) }) {
            Ok(()) => return Ok(()),
            Err(error) => error,
        };
        let longest = match &refused {
            ConnectError::Refused { source, .. } => match source.code() {
                None => LONGEST_SILENCE,
                Some(code) if *code == SqlState::CANNOT_CONNECT_NOW => LONGEST_RECOVERY,
                Some(_) => return Err(refused),
            },
            ConnectError::Runtime(_) => return Err(refused),
        };
        if begun.elapsed() > longest {
            return Err(refused);
        }
        let seconds = begun.elapsed().as_secs();
        if seconds >= said + 5 {
            said = seconds;
            progress(&format!("waiting for PostgreSQL, {seconds} s"));
        }
        sleep(Duration::from_millis(100));
    }
}
