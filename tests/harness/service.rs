//! A service in this process, on a port of its own.

use super::clock::instant;
use super::{Client, Database, TestClock, log};
use actix_web::rt::System;
use actix_web::web::Data;
use lotwarden_api::App;
use lotwarden_api::access::emergencies::Emergencies;
use lotwarden_api::access::ended::Ended;
use lotwarden_api::access::throttle::Throttle;
use lotwarden_api::access::tokens::{Tokens, new_key};
use lotwarden_domain::Clock;
use lotwarden_store::sealing::Key;
use lotwarden_store::{Recorder, access, facilities};
use metrics_exporter_prometheus::{PrometheusBuilder, PrometheusHandle};
use std::net::TcpListener;
use std::num::NonZeroU32;
use std::sync::{Arc, OnceLock, mpsc};
use std::time::Duration;
use uuid::Uuid;

/// One master key for every test; nothing sealed with it is worth anything.
pub const MASTER: [u8; 32] = [7; 32];

/// A facility in a database of its own, and the clock it lives by.
pub struct Site {
    pub clock: Arc<TestClock>,
    pub facility: Uuid,
    pub database: Database,
}

/// How a test's service differs from the usual one.
pub struct Setup {
    /// The facility's time zone.
    pub zone: &'static str,
    /// The instant the clock starts at.
    pub now: &'static str,
    pub requests_per_minute: u32,
}

impl Default for Setup {
    fn default() -> Self {
        Self {
            zone: "UTC",
            now: "2026-03-10T14:00:00Z",
            requests_per_minute: 1_000_000,
        }
    }
}

/// A running service on a site.
pub struct Service {
    pub app: Data<App>,
    pub base: String,
    http: reqwest::Client,
    system: System,
    thread: Option<std::thread::JoinHandle<()>>,
    // Last, because its database goes with it.
    pub site: Arc<Site>,
}

impl Site {
    pub async fn new(setup: &Setup) -> Arc<Self> {
        log::keep();
        let database = Database::new().await;
        let clock = Arc::new(TestClock::at(instant(setup.now)));
        let facility = add_facility(&database, "North Hill", setup.zone, &clock).await;
        Arc::new(Self {
            clock,
            facility,
            database,
        })
    }

    /// A second facility in the same database.
    pub async fn add_facility(&self, name: &str) -> Uuid {
        add_facility(&self.database, name, "UTC", &self.clock).await
    }
}

async fn add_facility(database: &Database, name: &str, zone: &str, clock: &TestClock) -> Uuid {
    let (owner_url, master) = (database.owner_url(), Key::new(MASTER));
    let added = facilities::add(&owner_url, &master, name, zone, clock.now()).await;
    added.expect("a facility can be added")
}

impl Service {
    /// A service on a site of its own.
    pub async fn start() -> Self {
        Self::with(Setup::default()).await
    }

    pub async fn with(setup: Setup) -> Self {
        let site = Site::new(&setup).await;
        Self::on(site, setup.requests_per_minute).await
    }

    /// A further service on a site, as a second process would be: a recorder, a pool and a cache of
    /// its own.
    pub async fn on(site: Arc<Site>, requests_per_minute: u32) -> Self {
        let clock = Arc::clone(&site.clock);
        Self::by(clock, site, requests_per_minute).await
    }

    /// A further service that lives by a clock of its own.
    pub async fn by(clock: Arc<TestClock>, site: Arc<Site>, requests_per_minute: u32) -> Self {
        let database =
            lotwarden_store::Database::new(&site.database.service_url(), 4).expect("a pool");
        let clock: Arc<dyn Clock> = clock;
        let (master, now) = (Key::new(MASTER), clock.now());
        let keys = access::token_keys(&database, &master, new_key, now)
            .await
            .expect("token keys");
        let recorder = Recorder::start(database, master, clock).expect("a recorder starts");
        let app = Data::new(App {
            recorder: Arc::new(recorder),
            tokens: Tokens::new(&keys).expect("there is a key"),
            ended: Ended::default(),
            emergencies: Emergencies::default(),
            throttle: Throttle::new(NonZeroU32::new(requests_per_minute).expect("not zero")),
            webhook_networks: "127.0.0.0/8".parse().expect("a network"),
            metrics: metrics(),
        });
        let listener = TcpListener::bind("127.0.0.1:0").expect("a free port");
        let address = listener.local_addr().expect("the port");
        let (system, thread) = serve(app.clone(), listener);
        // Hundreds of simultaneous attempts are on their way at times.
        let http = reqwest::Client::builder()
            .no_proxy()
            .timeout(Duration::from_secs(60))
            .build();
        let http = http.expect("an HTTP client");
        Self {
            app,
            base: format!("http://{address}"),
            http,
            system,
            thread: Some(thread),
            site,
        }
    }

    /// A caller without a token.
    pub fn anybody(&self) -> Client {
        Client {
            http: self.http.clone(),
            base: self.base.clone(),
            token: None,
            person: Uuid::nil(),
        }
    }

    /// The facility's ledger entries as stored, from the first.
    pub async fn entries(&self, facility: Uuid) -> Vec<(String, String)> {
        let query = format!(
            "SELECT encode(hash, 'hex'), convert_from(body, 'UTF8') FROM ledger_entries \
             WHERE facility_id = '{facility}' ORDER BY position"
        );
        let rows = self.site.database.rows(&query).await.into_iter();
        let text = |value: Option<String>| value.unwrap_or_default();
        rows.map(|mut row| (text(row[0].take()), text(row[1].take())))
            .collect()
    }
}

fn serve(app: Data<App>, listener: TcpListener) -> (System, std::thread::JoinHandle<()>) {
    let (tell, told) = mpsc::channel();
    let thread = std::thread::spawn(move || {
        let runner = System::new();
        let serving = async move {
            tell.send(System::current()).expect("the test waits for it");
            let serving = lotwarden_api::serve(app, listener, 1, Duration::ZERO, None).await;
            serving.expect("the service serves");
        };
        runner.block_on(async move {
            actix_web::rt::spawn(serving);
        });
        runner.run().expect("the service ends when it is told to");
    });
    (told.recv().expect("the service starts"), thread)
}

/// The process's one metrics recorder.
fn metrics() -> PrometheusHandle {
    static HANDLE: OnceLock<PrometheusHandle> = OnceLock::new();
    let install = || {
        PrometheusBuilder::new()
            .install_recorder()
            .expect("no other recorder")
    };
    HANDLE.get_or_init(install).clone()
}

impl Drop for Service {
    fn drop(&mut self) {
        self.system.stop();
        let _ = self.thread.take().map(std::thread::JoinHandle::join);
    }
}
