//! Scans over HTTP to a service process of its own, beside the answers that cost HTTP alone.

mod connection;
mod service;

use crate::prepared::{GTIN, Site, connect, fill, in_database};
use crate::size::Size;
use crate::timing::{Times, round};
use connection::Connection;
use serde_json::json;
use service::Service;
use std::net::SocketAddr;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use uuid::Uuid;

const CONNECTIONS: usize = 16;
/// What a usual setup takes (common practice, no source).
const SCANS_A_CASE: u32 = 25;
/// The database of the cluster's own service.
const DATABASE: &str = "lotwarden";

/// What to print.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Figures {
    /// Scans a second, and the memory they took.
    Speed,
    /// The memory alone.
    Memory,
}

/// Starts the service, prepares a facility and scans its pieces over 16 connections.
pub async fn run(server: &str, size: Size, figures: Figures) -> anyhow::Result<()> {
    let seconds = size.pick(10, 3);
    let repetitions = size.pick(3, 1);
    let pieces: u32 = size.pick(400_000, 60_000);
    let mut service = Service::start()?;
    let resident_at_rest = service.resident()?.now;
    let client = connect(&in_database(server, DATABASE)?).await?;
    let site = fill(&client, service.facility, pieces / SCANS_A_CASE, pieces).await?;
    client.batch_execute("VACUUM ANALYZE").await?;
    client.batch_execute("CHECKPOINT").await?;
    let load = Load {
        address: service.address,
        token: service.token().await?.into(),
        site,
        serial: Arc::new(AtomicU32::new(1)),
    };
    let mut scans = Vec::new();
    let mut floor = Vec::new();
    for _ in 0..repetitions {
        scans.push(load.run(Kind::Scan, seconds).await?);
        floor.push(load.run(Kind::Live, seconds).await?);
    }
    let resident = service.resident()?;
    service.stop()?;
    let (scans, floor) = (median(scans), median(floor));
    if figures == Figures::Speed {
        let line = json!({
            "benchmark": "http", "connections": CONNECTIONS,
            "scans_per_second": scans.per_second, "p50_ms": scans.p50, "p99_ms": scans.p99,
            "floor": "GET /livez", "floor_per_second": floor.per_second,
            "floor_p50_ms": floor.p50, "floor_p99_ms": floor.p99,
            "ratio": round(scans.per_second / floor.per_second, 2),
        });
        println!("{line}");
    }
    let line = json!({
        "benchmark": "memory", "connections": CONNECTIONS,
        "scans": load.serial.load(Ordering::Relaxed) - 1,
        "resident_megabytes": resident.now, "resident_megabytes_at_most": resident.most,
        "floor": "the service at rest", "floor_megabytes": resident_at_rest,
    });
    println!("{line}");
    Ok(())
}

#[derive(Clone, Copy)]
enum Kind {
    Scan,
    Live,
}

#[derive(Clone)]
struct Load {
    address: SocketAddr,
    token: Arc<str>,
    site: Site,
    serial: Arc<AtomicU32>,
}

struct Run {
    per_second: f64,
    p50: f64,
    p99: f64,
}

fn median(mut runs: Vec<Run>) -> Run {
    runs.sort_by(|a, b| a.per_second.total_cmp(&b.per_second));
    runs.swap_remove(runs.len() / 2)
}

impl Load {
    async fn run(&self, kind: Kind, seconds: u64) -> anyhow::Result<Run> {
        let mut connections = Vec::new();
        for _ in 0..CONNECTIONS {
            connections.push(Connection::open(self.address).await?);
        }
        let started = Instant::now();
        let until = started + Duration::from_secs(seconds);
        let mut tasks = Vec::new();
        for connection in connections {
            let load = self.clone();
            tasks.push(tokio::spawn(async move {
                match kind {
                    Kind::Scan => load.scan(connection, until).await,
                    Kind::Live => load.live(connection, until).await,
                }
            }));
        }
        let mut times = Times::default();
        for task in tasks {
            times.extend(task.await??);
        }
        let elapsed = started.elapsed();
        Ok(Run {
            per_second: round(times.len() as f64 / elapsed.as_secs_f64(), 0),
            p50: times.quantile(0.5),
            p99: times.quantile(0.99),
        })
    }

    /// Scans pieces one after the other, as one station does, a case's worth at a time.
    async fn scan(&self, mut connection: Connection, until: Instant) -> anyhow::Result<Times> {
        let mut times = Times::default();
        let mut block = 0..0;
        while Instant::now() < until {
            let number = match block.next() {
                Some(number) => number,
                None => {
                    let first = self.serial.fetch_add(SCANS_A_CASE, Ordering::Relaxed);
                    block = first + 1..first + SCANS_A_CASE;
                    first
                }
            };
            let text = format!("]d201{GTIN}1731123110A1B2\u{1d}21S{number}");
            let case = self.site.cases[(number / SCANS_A_CASE) as usize % self.site.cases.len()];
            let body = json!({"text": text}).to_string();
            let request = format!(
                "POST /v1/cases/{case}/scans HTTP/1.1\r\nHost: bench\r\nAuthorization: Bearer {}\r\n\
                 Idempotency-Key: {}\r\nContent-Type: application/json\r\nContent-Length: {}\r\n\r\n{body}",
                self.token,
                Uuid::now_v7(),
                body.len(),
            );
            let started = Instant::now();
            let answer = connection.ask(request.as_bytes()).await?;
            times.push(started.elapsed());
            anyhow::ensure!(
                answer.status == 201 && answer.says("\"verdict\":\"taken\""),
                "a scan was not taken: {}",
                answer.text(),
            );
        }
        Ok(times)
    }

    async fn live(&self, mut connection: Connection, until: Instant) -> anyhow::Result<Times> {
        let mut times = Times::default();
        while Instant::now() < until {
            let started = Instant::now();
            let answer = connection
                .ask(b"GET /livez HTTP/1.1\r\nHost: bench\r\n\r\n")
                .await?;
            times.push(started.elapsed());
            anyhow::ensure!(answer.status == 200, "not live: {}", answer.text());
        }
        Ok(times)
    }
}
