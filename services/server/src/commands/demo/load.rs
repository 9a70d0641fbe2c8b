//! `lotwarden demo load`

mod case;
mod deliveries;
mod history;
mod notices;
mod site;

use std::sync::{Arc, OnceLock};

use anyhow::{Context, anyhow, bail};
use lotwarden_domain::access::{Caller, Grant, Role};
use lotwarden_domain::{Clock, SystemClock};
use lotwarden_store::facilities::{self, Facility};
use lotwarden_store::recorder::Operation;
use lotwarden_store::sealing::Key;
use lotwarden_store::{Database, Receipt, Recorder, Rendered, Request};
use uuid::Uuid;

use super::clock::DemoClock;
use super::staff::{self, Account};
use super::{FACILITY, ZONE};
use crate::cluster::Cluster;
use crate::commands::opened::Opened;
use crate::commands::{keys, migrate, say};
use crate::settings::{Settings, ensure_data_dir};

/// How many days of past the facility has: 13 weeks.
const DAYS: i32 = 91;

/// The facility's people, and what loading did.
pub struct Loaded {
    /// Who can sign in.
    pub accounts: Vec<Account>,
    /// What was recorded now; none when the facility was there before.
    pub history: Option<history::Told>,
}

/// Makes the facility with three months of past, or finds it.
///
/// # Errors
/// The database does not answer, or the facility is there without its people's file.
pub fn load(settings: &Settings) -> anyhow::Result<Loaded> {
    ensure_data_dir(&settings.data_dir)
        .with_context(|| format!("cannot make {}", settings.data_dir.display()))?;
    let access = Cluster::ensure_running(settings, &say)?;
    migrate::apply(&access)?;
    let master_key = keys::open(settings, &access)?;
    let now = SystemClock.now();
    let begin = history::begin(now)?;
    let clock = Arc::new(DemoClock::at(begin));
    let database = Database::new(access.service_url.expose(), settings.database_connections)?;
    let master = Key::new(*master_key.expose());
    let recorder = Recorder::start(database, master, Arc::<DemoClock>::clone(&clock))?;
    let runtime = tokio::runtime::Builder::new_current_thread()
        .enable_all()
        .build()?;
    let opened = Opened {
        runtime,
        recorder,
        access,
    };
    let file = staff::file(&settings.data_dir);
    let all = facilities::list(opened.recorder.database());
    let all = opened.runtime.block_on(all)?;
    if all.iter().any(|one| one.name == FACILITY) {
        return match staff::read(&file)? {
            Some(accounts) => Ok(Loaded {
                accounts,
                history: None,
            }),
            None => bail!(
                "{FACILITY} is there, but {} is not: an earlier load did not finish, or the file was \
                 removed; use another LOTWARDEN_DATA_DIR for a new demonstration",
                file.display()
            ),
        };
    }
    let owner = opened.access.owner_url.expose();
    let master = opened.recorder.master();
    let added = facilities::add(owner, master, FACILITY, ZONE, begin);
    let id = opened.runtime.block_on(added)?;
    let facility = opened.runtime.block_on(opened.recorder.facility(id))?;
    let key = facility.key(master)?;
    let loader = Loader {
        opened,
        facility,
        key,
        clock,
    };
    let (site, accounts) = loader.set_up(now)?;
    let told = history::tell(&loader, &site, now)?;
    staff::write(&file, FACILITY, &accounts)?;
    Ok(Loaded {
        accounts,
        history: Some(told),
    })
}

/// Records for the facility's people, at the clock's time.
struct Loader {
    opened: Opened,
    facility: Facility,
    key: Key,
    clock: Arc<DemoClock>,
}

impl Loader {
    /// Records an operation of a person.
    fn record<O: Operation>(&self, who: &Caller, operation: O) -> anyhow::Result<O::Outcome>
    where
        O::Outcome: Clone,
    {
        self.record_granted(&Grant::to(who)?, operation)
    }

    fn record_granted<O: Operation>(
        &self,
        grant: &Grant<O::Permission>,
        operation: O,
    ) -> anyhow::Result<O::Outcome>
    where
        O::Outcome: Clone,
    {
        let (kept, render) = keeping::<O::Outcome>();
        let recorder = &self.opened.recorder;
        let recorded = recorder.record(grant, Request::default(), operation, render);
        match self.opened.runtime.block_on(recorded) {
            Ok(_) => kept
                .get()
                .cloned()
                .ok_or_else(|| anyhow!("a recorded operation gave no outcome")),
            // A refusal need not be shareable between threads, so its words are taken.
            Err(lotwarden_store::RecordError::Refused(refusal)) => Err(anyhow!("{refusal}")),
            Err(other) => Err(anyhow!("{other}")),
        }
    }

    /// A person as a grant asks for them.
    fn caller(&self, person: Uuid, role: Role) -> Caller {
        Caller {
            person,
            facility: self.facility.id,
            session: Uuid::nil(),
            roles: vec![role],
        }
    }

    /// The clock goes on to a time of a civil day at the facility.
    fn wait_until(&self, day: jiff::civil::Date, hour: i8, minute: i8) -> anyhow::Result<()> {
        let at = day.at(hour, minute, 0, 0);
        let at = at.to_zoned(self.facility.zone.clone())?.timestamp();
        self.clock.forward_to(at);
        Ok(())
    }
}

/// A render that keeps the outcome for the caller; no answer is kept without a key.
fn keeping<T: Clone + Send + Sync + 'static>() -> (
    Arc<OnceLock<T>>,
    impl Fn(&T, Receipt) -> Rendered + Send + Sync + 'static,
) {
    let cell = Arc::new(OnceLock::new());
    let kept = Arc::clone(&cell);
    let render = move |outcome: &T, _: Receipt| {
        let _ = kept.set(outcome.clone());
        Rendered {
            status: 200,
            body: Vec::new(),
            etag: None,
        }
    };
    (cell, render)
}
