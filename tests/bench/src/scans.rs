//! Audited scans a second through the recorder, beside plain inserts by as many connections.

use crate::prepared::{GTIN, Prepared, Site};
use crate::timing::{Times, round};
use lotwarden_domain::access::{Caller, Grant, Role, act};
use lotwarden_store::recorder::{NewScan, Recorder, ScanOutcome};
use lotwarden_store::{Receipt, Rendered, Request};
use serde_json::json;
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use std::time::{Duration, Instant};
use tokio_postgres::Client;
use uuid::Uuid;

const SECONDS: u64 = 4;
const REPETITIONS: usize = 3;
const PIECES: u32 = 400_000;
/// What a usual setup takes (common practice, no source).
const SCANS_A_CASE: u32 = 25;

/// Runs one ledger and eight, 1 to 64 callers, with and without a slower flush; or the one row
/// that `only` names by ledgers and callers.
pub async fn run(server: &str, only: Option<(usize, usize)>) -> anyhow::Result<()> {
    for extra_flush in [0, 1_000] {
        for ledgers in [1, 8] {
            if only.is_some_and(|only| only.0 != ledgers || extra_flush > 0) {
                continue;
            }
            let pieces = PIECES * 2 / u32::try_from(ledgers)?;
            let prepared = Prepared::make(server, ledgers, pieces / SCANS_A_CASE, pieces).await?;
            set_flush(&prepared.client, extra_flush).await?;
            prepared.client.batch_execute(FLOOR_TABLE).await?;
            let serial = Arc::new(AtomicU32::new(1));
            for callers in [1, 4, 16, 64] {
                if only.is_some_and(|only| only.1 != callers) {
                    continue;
                }
                let mut audited = Vec::new();
                let mut floor = Vec::new();
                for _ in 0..REPETITIONS {
                    audited.push(scans(&prepared, callers, &serial).await?);
                    floor.push(inserts(&prepared, callers).await?);
                }
                print(
                    extra_flush,
                    ledgers,
                    callers,
                    median(audited),
                    median(floor),
                );
            }
            set_flush(&prepared.client, 0).await?;
        }
    }
    Ok(())
}

/// Adds microseconds to every WAL flush, for both sides alike (`commit_delay` without waiting for
/// company).
async fn set_flush(client: &Client, microseconds: u32) -> anyhow::Result<()> {
    client
        .batch_execute("ALTER SYSTEM SET commit_siblings = 0")
        .await?;
    client
        .batch_execute(&format!("ALTER SYSTEM SET commit_delay = {microseconds}"))
        .await?;
    client.batch_execute("SELECT pg_reload_conf()").await?;
    tokio::time::sleep(Duration::from_millis(300)).await;
    Ok(())
}

struct Run {
    per_second: f64,
    p50: f64,
    p99: f64,
}

fn run_of(mut times: Times, elapsed: Duration) -> Run {
    Run {
        per_second: round(times.len() as f64 / elapsed.as_secs_f64(), 0),
        p50: times.quantile(0.5),
        p99: times.quantile(0.99),
    }
}

fn median(mut runs: Vec<Run>) -> Run {
    runs.sort_by(|a, b| a.per_second.total_cmp(&b.per_second));
    runs.swap_remove(runs.len() / 2)
}

fn print(extra_flush: u32, ledgers: usize, callers: usize, audited: Run, floor: Run) {
    let line = json!({
        "benchmark": "scans", "ledgers": ledgers, "callers": callers,
        "extra_flush_microseconds": extra_flush,
        "scans_per_second": audited.per_second, "p50_ms": audited.p50, "p99_ms": audited.p99,
        "floor": "single-row INSERT, no audit", "floor_per_second": floor.per_second,
        "floor_p50_ms": floor.p50, "floor_p99_ms": floor.p99,
        "ratio": round(audited.per_second / floor.per_second, 2),
    });
    println!("{line}");
}

async fn scans(
    prepared: &Prepared,
    callers: usize,
    serial: &Arc<AtomicU32>,
) -> anyhow::Result<Run> {
    let started = Instant::now();
    let until = started + Duration::from_secs(SECONDS);
    let mut tasks = Vec::new();
    for caller in 0..callers {
        let site = prepared.sites[caller % prepared.sites.len()].clone();
        let recorder = Arc::clone(&prepared.recorder);
        let serial = Arc::clone(serial);
        tasks.push(tokio::spawn(async move {
            one_caller(&recorder, &site, &serial, until).await
        }));
    }
    let mut times = Times::default();
    for task in tasks {
        times.extend(task.await??);
    }
    Ok(run_of(times, started.elapsed()))
}

/// Scans pieces one after the other, as one station does, from the characters to the answer.
async fn one_caller(
    recorder: &Recorder,
    site: &Site,
    serial: &AtomicU32,
    until: Instant,
) -> anyhow::Result<Times> {
    let caller = Caller {
        person: site.person,
        facility: site.facility,
        session: Uuid::nil(),
        roles: vec![Role::Circulator],
    };
    let grant: Grant<act::RecordScan> = Grant::to(&caller)?;
    let mut times = Times::default();
    let mut block = 0..0;
    while Instant::now() < until {
        let number = match block.next() {
            Some(number) => number,
            None => {
                let first = serial.fetch_add(SCANS_A_CASE, Ordering::Relaxed);
                block = first + 1..first + SCANS_A_CASE;
                first
            }
        };
        let started = Instant::now();
        let text = format!("]d201{GTIN}1731123110A1B2\u{1d}21S{number}");
        let case = site.cases[(number / SCANS_A_CASE) as usize % site.cases.len()];
        let scan = NewScan {
            case,
            text,
            symbology: None,
            occurred_at: None,
            held_session: None,
            clock_ahead: None,
            another_piece: false,
        };
        let key = Some((Uuid::now_v7().to_string(), [7; 32]));
        let answer = recorder
            .record_scan(&grant, Request { key, station: None }, scan, render)
            .await?;
        times.push(started.elapsed());
        anyhow::ensure!(
            answer.rendered.body.starts_with(b"{\"a"),
            "a scan was not taken"
        );
    }
    Ok(times)
}

/// About the answer of the API in content and length.
fn render(outcome: &ScanOutcome, receipt: Receipt) -> Rendered {
    let taken = if outcome.placed.is_some() { "a" } else { "b" };
    let label = outcome.label.as_ref().ok();
    let body = json!({
        taken: outcome.verdict, "case_id": outcome.case, "id": outcome.id,
        "occurred_at": outcome.occurred_at.to_string(), "received_at": outcome.received_at.to_string(),
        "findings": outcome.findings, "product": outcome.product, "lot_id": outcome.lot,
        "unit_id": outcome.unit, "lot": label.and_then(|label| label.lot.as_deref()),
        "serial": label.and_then(|label| label.serial.as_deref()),
        "entry": {"position": receipt.position, "hash": receipt.hash.to_string()},
    });
    Rendered {
        status: 201,
        body: body.to_string().into_bytes(),
        etag: None,
    }
}

/// What a plain application would keep of a use: one table, three indexes, no audit.
const FLOOR_TABLE: &str = "CREATE TABLE plain_uses (
    id uuid PRIMARY KEY, case_id uuid NOT NULL, product text NOT NULL, lot text NOT NULL,
    serial text NOT NULL, text text NOT NULL, person uuid NOT NULL, taken_at timestamptz NOT NULL DEFAULT now());
 CREATE INDEX ON plain_uses (product, lot);
 CREATE INDEX ON plain_uses (case_id)";

async fn inserts(prepared: &Prepared, connections: usize) -> anyhow::Result<Run> {
    let mut clients = Vec::new();
    for _ in 0..connections {
        clients.push(prepared.connect().await?);
    }
    let started = Instant::now();
    let until = started + Duration::from_secs(SECONDS);
    let mut tasks = Vec::new();
    for (index, client) in clients.into_iter().enumerate() {
        let site = prepared.sites[index % prepared.sites.len()].clone();
        tasks.push(tokio::spawn(async move {
            one_connection(&client, &site, until).await
        }));
    }
    let mut times = Times::default();
    for task in tasks {
        times.extend(task.await??);
    }
    Ok(run_of(times, started.elapsed()))
}

async fn one_connection(client: &Client, site: &Site, until: Instant) -> anyhow::Result<Times> {
    let insert = client
        .prepare("INSERT INTO plain_uses (id, case_id, product, lot, serial, text, person) VALUES ($1, $2, $3, $4, $5, $6, $7)")
        .await?;
    let mut times = Times::default();
    let mut number = 0_usize;
    while Instant::now() < until {
        number += 1;
        let started = Instant::now();
        let case = site.cases[number % site.cases.len()];
        let serial = format!("S{number}");
        let text = format!("]d201{GTIN}1731123110A1B2\u{1d}21{serial}");
        client
            .execute(
                &insert,
                &[
                    &Uuid::now_v7(),
                    &case,
                    &GTIN,
                    &"A1B2",
                    &serial,
                    &text,
                    &site.person,
                ],
            )
            .await?;
        times.push(started.elapsed());
    }
    Ok(times)
}
