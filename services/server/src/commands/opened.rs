//! The store, opened in this process for a command of the operator.

use std::sync::Arc;

use anyhow::{Context, bail};
use lotwarden_domain::SystemClock;
use lotwarden_domain::access::{Grant, Permission};
use lotwarden_store::facilities::{self, Facility};
use lotwarden_store::sealing::Key;
use lotwarden_store::{Database, Recorder};
use tokio::runtime::Runtime;

use super::{keys, migrate, say};
use crate::cluster::{Cluster, DatabaseAccess};
use crate::settings::{MasterKey, Settings, ensure_data_dir};

/// The store and what it runs on.
pub struct Opened {
    /// Runs what waits.
    pub runtime: Runtime,
    /// The one door for writes.
    pub recorder: Recorder,
    /// The logins.
    pub access: DatabaseAccess,
}

impl Opened {
    /// Makes sure of the database and its schema, and opens the store.
    ///
    /// The private PostgreSQL stays running until `lotwarden stop`.
    ///
    /// # Errors
    /// Whatever keeps the database from answering.
    pub fn open(settings: &Settings) -> anyhow::Result<Self> {
        ensure_data_dir(&settings.data_dir)
            .with_context(|| format!("cannot make {}", settings.data_dir.display()))?;
        let access = Cluster::ensure_running(settings, &|_| ())?;
        migrate::apply(&access)?;
        let master_key = keys::open(settings, &access)?;
        Self::with(settings, access, &master_key)
    }

    /// Opens the store over a database that answers.
    ///
    /// # Errors
    /// The runtime or the recorder cannot be started.
    pub fn with(
        settings: &Settings,
        access: DatabaseAccess,
        master_key: &MasterKey,
    ) -> anyhow::Result<Self> {
        let database = Database::new(access.service_url.expose(), settings.database_connections)?;
        let master = Key::new(*master_key.expose());
        let recorder = Recorder::start(database, master, Arc::new(SystemClock))?;
        let runtime = tokio::runtime::Builder::new_current_thread()
            .enable_all()
            .build()?;
        Ok(Self {
            runtime,
            recorder,
            access,
        })
    }

    /// The named facility, or the only one.
    ///
    /// # Errors
    /// There is none, none of that name, or several and no name.
    pub fn facility(&self, name: Option<&str>) -> anyhow::Result<Facility> {
        let all = self
            .runtime
            .block_on(facilities::list(self.recorder.database()))?;
        let names: Vec<String> = all.iter().map(|facility| facility.name.clone()).collect();
        let mut found = all
            .into_iter()
            .filter(|one| name.is_none_or(|name| one.name == name));
        match (found.next(), found.next(), name) {
            (Some(only), None, _) => Ok(only),
            (None, _, None) => {
                bail!("there is no facility yet; `lotwarden facility add` makes one")
            }
            (None, _, Some(name)) => {
                bail!(
                    "there is no facility {name:?}; there are: {}",
                    names.join(", ")
                )
            }
            (Some(_), Some(_), _) => bail!("say which with --facility: {}", names.join(", ")),
        }
    }

    /// The operator's grant in a facility; the ledger names the operating system's account.
    ///
    /// # Errors
    /// The account has no name.
    pub fn grant<A: Permission>(&self, facility: &Facility) -> anyhow::Result<Grant<A>> {
        Ok(Grant::to_operator(&account()?, facility.id))
    }
}

/// The operating system's account, as the ledger names it.
///
/// # Errors
/// The account has no name.
pub fn account() -> anyhow::Result<String> {
    let account = ["SUDO_USER", "USER", "LOGNAME"]
        .iter()
        .find_map(|name| std::env::var(name).ok());
    let account = match account {
        Some(account) => account,
        None => format!("uid {}", rustix::process::getuid().as_raw()),
    };
    let plain = |letter: &char| letter.is_ascii_graphic() || *letter == ' ';
    let account: String = account.chars().filter(plain).take(64).collect();
    if account.is_empty() {
        say("this account has no name; the ledger would not know who acts");
    }
    Some(account)
        .filter(|name| !name.is_empty())
        .context("set USER to the name of your account")
}
