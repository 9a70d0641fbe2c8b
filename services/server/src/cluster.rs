//! The database the service works with: a private PostgreSQL in the data
//! directory, or the server that the settings name.

mod account;
mod binaries;
mod configuration;
mod connection;
mod control;
mod external;
mod initialise;
mod layout;
mod roles;

use std::fs::{File, OpenOptions};
use std::io;
use std::os::unix::fs::OpenOptionsExt;
use std::path::PathBuf;

pub use account::AccountError;
pub use binaries::BinariesError;
pub use connection::ConnectError;
pub use control::ControlError;
pub use external::ExternalError;
pub use layout::LayoutError;
pub use roles::RolesError;

use crate::settings::secret_file::{SecretFileError, read_or_make};
use crate::settings::{SecretUrl, Settings, ensure_data_dir};
use account::Account;
use binaries::Binaries;
use layout::Layout;

/// Receives one plain sentence for each long step.
pub type Progress<'a> = &'a dyn Fn(&str);

/// Database that the service owns in the private cluster.
pub const DATABASE: &str = "lotwarden";

/// The two logins of the service, ready to use.
#[derive(Clone, Debug)]
pub struct DatabaseAccess {
    /// Login that serves, a member of `lotwarden_app`.
    pub service_url: SecretUrl,
    /// Login that migrates; it may `SET ROLE lotwarden_owner`.
    pub owner_url: SecretUrl,
    /// Whether this call started the private cluster, so that whoever called stops it too.
    pub started_here: bool,
}

/// Why there is no database.
#[derive(Debug, thiserror::Error)]
pub enum ClusterError {
    /// No server programs.
    #[error(transparent)]
    Binaries(#[from] BinariesError),
    /// No account to run PostgreSQL under, or it cannot reach the data.
    #[error(transparent)]
    Account(#[from] AccountError),
    /// A directory cannot be prepared.
    #[error(transparent)]
    Layout(#[from] LayoutError),
    /// A password cannot be kept.
    #[error(transparent)]
    Secret(#[from] SecretFileError),
    /// A server program failed.
    #[error(transparent)]
    Control(#[from] ControlError),
    /// The server does not let a login in.
    #[error(transparent)]
    Connect(#[from] ConnectError),
    /// Roles and database could not be made.
    #[error(transparent)]
    Roles(#[from] RolesError),
    /// The named server lacks what the service needs.
    #[error(transparent)]
    External(#[from] ExternalError),
    /// The settings name a server; there is no private cluster to start or stop.
    #[error("LOTWARDEN_DATABASE_URL names a server, so there is no private cluster")]
    NotPrivate,
    /// Another command holds the cluster, and waiting for it failed.
    #[error("cannot lock {}", path.display())]
    Lock {
        /// The lock file.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
}

/// A private PostgreSQL cluster; its superuser is `postgres`.
pub struct Cluster {
    layout: Layout,
    account: Account,
    binaries: Binaries,
}

impl Cluster {
    /// Makes sure a database with both logins answers, and says how to reach it.
    ///
    /// Without `database_url` it makes and starts the private cluster, or finds
    /// it running; with one it makes sure of the two group roles there. It is
    /// harmless to repeat, and to run at once from several processes. It blocks:
    /// not to be called from within an asynchronous runtime.
    ///
    /// # Errors
    /// A prerequisite is missing (the text names the command that installs it)
    /// or PostgreSQL does not start.
    pub fn ensure_running(
        settings: &Settings,
        progress: Progress<'_>,
    ) -> Result<DatabaseAccess, ClusterError> {
        if let Some(service_url) = &settings.database_url {
            let owner_url = settings.owner_url.as_ref().unwrap_or(service_url);
            external::ensure_group_roles(owner_url)?;
            return Ok(DatabaseAccess {
                service_url: service_url.clone(),
                owner_url: owner_url.clone(),
                started_here: false,
            });
        }
        let cluster = Self::find(settings)?;
        cluster.make_directories(settings)?;
        let _lock = cluster.lock()?;
        cluster.start(progress)
    }

    /// Stops the private cluster; true when it was running.
    ///
    /// Sessions are ended and their open transactions rolled back (a fast shutdown).
    ///
    /// # Errors
    /// The settings name a server, or PostgreSQL does not stop in time.
    pub fn stop(settings: &Settings, progress: Progress<'_>) -> Result<bool, ClusterError> {
        if !Self::is_running(settings)? {
            return Ok(false);
        }
        let cluster = Self::find(settings)?;
        let _lock = cluster.lock()?;
        if control::postmaster(&cluster.layout).is_none() {
            return Ok(false);
        }
        progress("stopping the private PostgreSQL");
        control::stop(&cluster.binaries, &cluster.account, &cluster.layout)?;
        cluster.layout.remove_socket_directory();
        Ok(true)
    }

    /// Says whether the private cluster's server process lives; nothing is made or changed.
    ///
    /// # Errors
    /// The settings name a server.
    pub fn is_running(settings: &Settings) -> Result<bool, ClusterError> {
        if settings.database_url.is_some() {
            return Err(ClusterError::NotPrivate);
        }
        let layout = Layout::of(&settings.data_dir);
        Ok(control::postmaster(&layout).is_some())
    }

    /// Gives the superuser's connection string, for tests and repairs; the service never uses it.
    ///
    /// # Errors
    /// The settings name a server, or there is no private cluster yet.
    pub fn superuser_url(settings: &Settings) -> Result<SecretUrl, ClusterError> {
        Self::find(settings)?.url("postgres", "superuser", "postgres")
    }

    fn find(settings: &Settings) -> Result<Self, ClusterError> {
        if settings.database_url.is_some() {
            return Err(ClusterError::NotPrivate);
        }
        let account = Account::current()?;
        let layout = Layout::of(&settings.data_dir);
        let binaries = Binaries::find(settings.pg_bin.as_deref(), layout.version()?)?;
        Ok(Self {
            layout,
            account,
            binaries,
        })
    }

    fn make_directories(&self, settings: &Settings) -> Result<(), ClusterError> {
        let data_dir = &settings.data_dir;
        ensure_data_dir(data_dir).map_err(|source| LayoutError::Io {
            path: data_dir.clone(),
            source,
        })?;
        self.account.require_reach(data_dir)?;
        self.layout.ensure_directories(&self.account)?;
        Ok(())
    }

    /// Holds off other commands on the same cluster until dropped.
    fn lock(&self) -> Result<File, ClusterError> {
        let path = self.layout.lock_file();
        let locked = OpenOptions::new()
            .create(true)
            .append(true)
            .mode(0o600)
            .open(&path)
            .and_then(|file| file.lock().map(|()| file));
        locked.map_err(|source| ClusterError::Lock { path, source })
    }

    fn start(&self, progress: Progress<'_>) -> Result<DatabaseAccess, ClusterError> {
        let superuser = self.url("postgres", "superuser", "postgres")?;
        let service_url = self.url(roles::SERVICE_LOGIN, "service", DATABASE)?;
        let owner_url = self.url(roles::MIGRATOR_LOGIN, "migrator", DATABASE)?;
        if self.layout.version()?.is_none() {
            progress(&format!(
                "creating a private PostgreSQL {} in {}",
                self.binaries.major,
                self.layout.postgresql.display()
            ));
            let password = self.password("superuser")?;
            initialise::initialise(&self.binaries, &self.account, &self.layout, &password)?;
        }
        let started_here = control::postmaster(&self.layout).is_none();
        if started_here {
            progress(&format!(
                "starting the private PostgreSQL {}",
                self.binaries.major
            ));
            configuration::write(&self.layout, &self.account)?;
            control::start(&self.binaries, &self.account, &self.layout, progress)?;
        }
        connection::wait_until_accepting(&superuser, progress)?;
        roles::ensure(
            &roles::Logins {
                superuser: &superuser,
                superuser_in_database: &self.url("postgres", "superuser", DATABASE)?,
                service: (&service_url, &self.password("service")?),
                migrator: (&owner_url, &self.password("migrator")?),
            },
            progress,
        )?;
        Ok(DatabaseAccess {
            service_url,
            owner_url,
            started_here,
        })
    }

    fn password(&self, name: &str) -> Result<String, SecretFileError> {
        read_or_make(&self.layout.secrets.join(name))
    }

    fn url(&self, user: &str, secret: &str, database: &str) -> Result<SecretUrl, ClusterError> {
        let password = self.password(secret)?;
        let directory = self.layout.sockets.display().to_string();
        Ok(SecretUrl::for_socket(&directory, user, &password, database))
    }
}

#[cfg(test)]
mod tests;
