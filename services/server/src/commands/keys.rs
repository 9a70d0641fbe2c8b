//! `lotwarden keys`

use std::process::ExitCode;

use anyhow::{Context, bail};
use lotwarden_domain::{Clock, SystemClock};
use lotwarden_store::master_key::{self, MasterKeyError};
use lotwarden_store::sealing::Key;
use tokio::runtime::Runtime;

use super::opened::account;
use super::serve::pid_file::PidFile;
use super::{migrate, say};
use crate::cluster::{Cluster, DatabaseAccess};
use crate::settings::{MasterKey, Settings};

/// Replaces the master key.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden stop && lotwarden keys rotate && lotwarden serve

Every process that serves this database has to be stopped first. The former key
is kept beside the new one: backups made before need it. A request that is
repeated with its Idempotency-Key across the change is refused, not recorded
twice.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Make a new master key and seal every facility key with it
    Rotate,
}

/// Rotates.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let What::Rotate = args.what;
    let _alone = PidFile::take(&settings.data_dir)?;
    let access = Cluster::ensure_running(settings, &say)?;
    migrate::apply(&access)?;
    let file = &settings.master_key_file;
    let old = open(settings, &access)?;
    let new = MasterKey::make_next(file)?;
    let (old, new) = (Key::new(*old.expose()), Key::new(*new.expose()));
    let (owner, account) = (access.owner_url.expose(), account()?);
    let rotated = master_key::rotate(owner, &old, &new, &account, SystemClock.now());
    let facilities = runtime()?.block_on(rotated)?;
    // From the commit on the new key counts; a crash before this line is made good at the next
    // start, which finds the next key beside the file.
    let kept = MasterKey::adopt_next(file)?;
    say(&format!("sealed the keys of {facilities} facilities anew"));
    say(&format!(
        "the former key is kept in {}; backups made before need it",
        kept.display()
    ));
    Ok(ExitCode::SUCCESS)
}

/// The master key of a database that answers: the one in its file, or at the very first start a new
/// one. A database that is sealed already is never given another.
///
/// # Errors
/// The file is missing or holds another key.
pub fn open(settings: &Settings, access: &DatabaseAccess) -> anyhow::Result<MasterKey> {
    let file = &settings.master_key_file;
    let owner = access.owner_url.expose();
    let runtime = runtime()?;
    let key = match MasterKey::read(file)? {
        Some(key) => key,
        None if runtime.block_on(master_key::is_sealed(owner))? => bail!(
            "{} is missing, and this database is sealed with the key that was in it; put the copy back",
            file.display()
        ),
        None => MasterKey::read_or_make(file)?,
    };
    let fits = |key: &MasterKey| {
        let key = Key::new(*key.expose());
        let established = master_key::establish(owner, &key, SystemClock.now());
        match runtime.block_on(established) {
            Ok(()) => Ok(true),
            Err(MasterKeyError::Other) => Ok(false),
            Err(error) => Err(error),
        }
    };
    if fits(&key)? {
        return Ok(key);
    }
    // A rotation that was cut off between its commit and the change of the file.
    if let Some(next) = MasterKey::read_next(file)?
        && fits(&next)?
    {
        MasterKey::adopt_next(file)?;
        return Ok(next);
    }
    bail!(
        "{} does not hold the key that this database is sealed with; put the copy back",
        file.display()
    )
}

fn runtime() -> anyhow::Result<Runtime> {
    tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()
        .context("cannot wait for the database")
}
