//! A database with facilities, cases and pieces on the shelf, made in bulk.

use anyhow::Context;
use jiff::Timestamp;
use lotwarden_domain::{Clock, SystemClock};
use lotwarden_store::sealing::Key;
use lotwarden_store::{Database, Recorder, facilities, migrations};
use std::sync::Arc;
use tokio_postgres::{Client, Config, NoTls};
use uuid::Uuid;

/// A facility ready to be scanned in.
#[derive(Clone)]
pub struct Site {
    pub facility: Uuid,
    pub person: Uuid,
    pub cases: Vec<Uuid>,
    pub location: Uuid,
}

/// The GTIN of the one product: GS1's example prefix 952, check digit by the standard's weights.
pub const GTIN: &str = "09520123456788";

/// A database of its own on the server.
pub struct Prepared {
    pub recorder: Arc<Recorder>,
    pub client: Client,
    pub sites: Vec<Site>,
    url: String,
}

impl Prepared {
    /// Makes the database with so many sites, cases and pieces a site.
    pub async fn make(server: &str, sites: usize, cases: u32, pieces: u32) -> anyhow::Result<Self> {
        let name = format!("bench_{}", Uuid::now_v7().simple());
        let admin = connect(server).await?;
        admin
            .batch_execute(&format!("CREATE DATABASE {name} OWNER lotwarden_owner"))
            .await?;
        let url = in_database(server, &name)?;
        migrations::up(&url)?;
        let client = connect(&url).await?;
        let master = Key::random();
        let mut made = Vec::new();
        for index in 0..sites {
            let clock = SystemClock;
            let facility =
                facilities::add(&url, &master, &format!("Site {index}"), "UTC", clock.now())
                    .await?;
            made.push(fill(&client, facility, cases, pieces).await?);
        }
        client.batch_execute("VACUUM ANALYZE").await?;
        client.batch_execute("CHECKPOINT").await?;
        let database = Database::new(&url, 8)?;
        let recorder = Arc::new(Recorder::start(database, master, Arc::new(SystemClock))?);
        Ok(Self {
            recorder,
            client,
            sites: made,
            url,
        })
    }

    /// A further connection as the server's superuser.
    pub async fn connect(&self) -> anyhow::Result<Client> {
        connect(&self.url).await
    }
}

/// Fills a facility with a product, its pieces and cases.
pub async fn fill(
    client: &Client,
    facility: Uuid,
    cases: u32,
    pieces: u32,
) -> anyhow::Result<Site> {
    let [person, location, product, lot, patient] = [(); 5].map(|()| Uuid::now_v7());
    // UUID version 7 as the service makes them: later rows sort behind earlier ones.
    let id = "(lpad(to_hex((extract(epoch FROM now()) * 1000)::bigint + n), 12, '0') || '7' || left(md5(n::text), 3) || '8' || left(md5(random()::text), 15))::uuid";
    let statements = [
        // Bulk rows whose parents stand beside them; checking each would take most of the run.
        "SET session_replication_role = replica".to_owned(),
        format!(
            "INSERT INTO people VALUES ('{facility}', '{person}', 'p{}', 'P', '{{circulator,practitioner}}', '-', NULL, 1, now())",
            person.simple()
        ),
        format!("INSERT INTO locations VALUES ('{facility}', '{location}', 'Room', 'room', now())"),
        format!(
            "INSERT INTO products VALUES ('{facility}', '{product}', 'Handpiece', '', '', 'handpiece', 'single_use', true, true, true, true, 1, now())"
        ),
        format!(
            "INSERT INTO product_identifiers VALUES ('{facility}', 'gs1', '{GTIN}', '{product}', 'unit', 1, true)"
        ),
        format!(
            "INSERT INTO lots VALUES ('{facility}', '{lot}', '{product}', 'A1B2', '2031-12-31', NULL, now())"
        ),
        format!("INSERT INTO stock_levels VALUES ('{facility}', '{lot}', '{location}', {pieces})"),
        format!(
            "INSERT INTO units SELECT '{facility}', {id}, '{product}', '{lot}', 'S' || n, '{location}' FROM generate_series(1, {pieces}) n"
        ),
        format!(
            "INSERT INTO patients VALUES ('{facility}', '{patient}', sha256('{patient}'), '', '', now())"
        ),
        format!(
            "INSERT INTO cases SELECT '{facility}', {id}, '{patient}', 'Procedure', '{location}', '{person}', now(), 'preparation', NULL, NULL, 1, now() FROM generate_series(1, {cases}) n"
        ),
    ];
    for statement in &statements {
        client
            .batch_execute(statement)
            .await
            .context("cannot prepare the database")?;
    }
    let rows = client
        .query(
            "SELECT id FROM cases WHERE facility_id = $1 ORDER BY id",
            &[&facility],
        )
        .await?;
    let cases = rows.iter().map(|row| row.get(0)).collect();
    Ok(Site {
        facility,
        person,
        cases,
        location,
    })
}

/// A connection as the URL says.
pub async fn connect(url: &str) -> anyhow::Result<Client> {
    let (client, connection) = tokio_postgres::connect(url, NoTls).await?;
    tokio::spawn(async move {
        // An error here shows as an error of the query that waits for it.
        let _ = connection.await;
    });
    Ok(client)
}

/// The same server's URL with another database.
pub fn in_database(server: &str, name: &str) -> anyhow::Result<String> {
    let config: Config = server.parse()?;
    let user = config.get_user().unwrap_or("postgres");
    let password = String::from_utf8_lossy(config.get_password().unwrap_or_default()).into_owned();
    let host = config
        .get_hosts()
        .first()
        .context("the server's URL names no host")?;
    let host = match host {
        tokio_postgres::config::Host::Unix(path) => path.display().to_string(),
        tokio_postgres::config::Host::Tcp(name) => name.clone(),
    };
    Ok(format!(
        "host='{host}' user='{user}' password='{password}' dbname='{name}'"
    ))
}

/// The instant now, for reading labels.
pub fn now() -> Timestamp {
    SystemClock.now()
}
