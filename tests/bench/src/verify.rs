//! Verification of a ledger, stored and in memory, beside bare SHA-256 over the same bytes.

use crate::prepared::{GTIN, Prepared, now};
use crate::size::Size;
use crate::timing::round;
use anyhow::Context;
use jiff::{SignedDuration, Timestamp};
use lotwarden_ledger::{ChainCheck, Entry, Event, Head};
use lotwarden_store::ledger::verify_all;
use serde_json::json;
use sha2::{Digest, Sha256};
use std::hint::black_box;
use std::time::{Duration, Instant};
use tokio_postgres::Client;
use uuid::Uuid;

/// Entries made, hashed and stored at a time.
const CHUNK: u32 = 10_000;
const REPETITIONS: usize = 3;

/// Makes the ledger, checks it in memory as it grows, stores it, and verifies it there.
pub async fn run(server: &str, size: Size) -> anyhow::Result<()> {
    let entries: u32 = size.pick(1_000_000, 100_000);
    let prepared = Prepared::make(server, 1, 1, 1).await?;
    let site = prepared.sites.first().context("no facility")?;
    let facility = site.facility;
    let mut head = Head::empty(facility);
    let mut check = ChainCheck::new(facility, None).strict();
    let mut hashing = Duration::ZERO;
    let mut checking = Duration::ZERO;
    let mut bytes = 0;
    let started = now();
    for first in (0..entries).step_by(CHUNK as usize) {
        let chunk = made(&mut head, site.person, &site.cases, first, started)?;
        bytes += chunk
            .iter()
            .map(|(_, entry)| entry.body.len())
            .sum::<usize>();
        hashing += timed(|| {
            for (_, entry) in &chunk {
                black_box(Sha256::digest(&entry.body));
            }
            Ok(())
        })?;
        checking += timed(|| {
            for (_, entry) in &chunk {
                check.feed(&entry.body)?;
            }
            Ok(())
        })?;
        store(&prepared.client, facility, &chunk).await?;
    }
    move_head(&prepared.client, &head).await?;
    let client = &prepared.client;
    client
        .batch_execute("VACUUM ANALYZE ledger_entries")
        .await?;
    let mut verifying = Vec::new();
    let mut reading = Vec::new();
    for _ in 0..REPETITIONS {
        let begun = Instant::now();
        let verified = verify_all(prepared.recorder.database(), facility, |_| ()).await?;
        verifying.push(begun.elapsed());
        anyhow::ensure!(
            verified.checked == u64::from(entries),
            "not all were checked"
        );
        reading.push(read(client, facility).await?);
    }
    let per_second = |time: Duration| round(f64::from(entries) / time.as_secs_f64(), 0);
    let (stored, floor) = (per_second(median(verifying)), per_second(hashing));
    let line = json!({
        "benchmark": "verify", "entries": entries,
        "mean_body_bytes": round(bytes as f64 / f64::from(entries), 0),
        "entries_per_second": stored, "in_memory_per_second": per_second(checking),
        "floor": "bare SHA-256 over the same bytes", "floor_per_second": floor,
        "floor_of_reading": "SELECT body, nothing checked",
        "floor_of_reading_per_second": per_second(median(reading)),
        "ratio": round(stored / floor, 2),
    });
    println!("{line}");
    Ok(())
}

fn median(mut times: Vec<Duration>) -> Duration {
    times.sort();
    times.swap_remove(times.len() / 2)
}

fn timed(work: impl FnOnce() -> anyhow::Result<()>) -> anyhow::Result<Duration> {
    let started = Instant::now();
    work()?;
    Ok(started.elapsed())
}

/// The next entries, of about the content and length of a scan's, each with its subject.
fn made(
    head: &mut Head,
    actor: Uuid,
    cases: &[Uuid],
    first: u32,
    started: Timestamp,
) -> anyhow::Result<Vec<(Event, Entry)>> {
    let case = cases.first().context("no case")?;
    let mut chunk = Vec::new();
    for number in first..first + CHUNK {
        let scan = Uuid::now_v7();
        let data = json!({
            "case": case, "drawn_from": Uuid::now_v7(), "expires_on": "2031-12-31",
            "findings": ["expires_soon"], "identifier": format!("gs1:{GTIN}"), "lot": "A1B2",
            "lot_id": Uuid::now_v7(), "occurred_at": started.to_string(), "on_case": true,
            "product": Uuid::now_v7(), "serial": format!("S{number}"),
            "text": format!("]d201{GTIN}1731123110A1B2\u{1d}21S{number}"),
            "unit": Uuid::now_v7(), "verdict": "look",
        });
        let event = Event::new(
            "record_scan",
            actor.to_string(),
            None,
            scan.to_string(),
            &data,
        )?;
        let entry = head.append(&event, started + SignedDuration::from_millis(number.into()))?;
        chunk.push((event, entry));
    }
    Ok(chunk)
}

async fn store(client: &Client, facility: Uuid, chunk: &[(Event, Entry)]) -> anyhow::Result<()> {
    let positions: Vec<i64> = chunk
        .iter()
        .map(|(_, entry)| entry.position.cast_signed())
        .collect();
    let times: Vec<String> = chunk
        .iter()
        .map(|(_, entry)| entry.at.to_string())
        .collect();
    let actors: Vec<&str> = chunk
        .iter()
        .map(|(event, _)| event.actor.as_str())
        .collect();
    let subjects: Vec<&str> = chunk
        .iter()
        .map(|(event, _)| event.subject.as_str())
        .collect();
    let hashes: Vec<&[u8]> = chunk
        .iter()
        .map(|(_, entry)| &entry.hash.as_bytes()[..])
        .collect();
    let bodies: Vec<&[u8]> = chunk
        .iter()
        .map(|(_, entry)| entry.body.as_slice())
        .collect();
    client
        .execute(
            "INSERT INTO ledger_entries
             SELECT $1, position, at::timestamptz, 'record_scan', actor, subject, NULL, hash, body
             FROM unnest($2::bigint[], $3::text[], $4::text[], $5::text[], $6::bytea[], $7::bytea[])
                 AS e (position, at, actor, subject, hash, body)",
            &[
                &facility, &positions, &times, &actors, &subjects, &hashes, &bodies,
            ],
        )
        .await?;
    Ok(())
}

async fn move_head(client: &Client, head: &Head) -> anyhow::Result<()> {
    let at = head.at.context("no entry")?.to_string();
    client
        .execute(
            "UPDATE ledger_heads SET size = $2, hash = $3, at = $4::text::timestamptz WHERE facility_id = $1",
            &[&head.ledger, &head.size.cast_signed(), &&head.hash.as_bytes()[..], &at],
        )
        .await?;
    Ok(())
}

/// Reads every body as the verification does, and does nothing with it.
async fn read(client: &Client, facility: Uuid) -> anyhow::Result<Duration> {
    let statement = client
        .prepare(
            "SELECT position, body FROM ledger_entries WHERE facility_id = $1 AND position >= $2
             ORDER BY position LIMIT 5000",
        )
        .await?;
    let started = Instant::now();
    let mut next = 0_i64;
    loop {
        let rows = client.query(&statement, &[&facility, &next]).await?;
        let Some(last) = rows.last() else {
            return Ok(started.elapsed());
        };
        next = last.get::<_, i64>(0) + 1;
        for row in &rows {
            black_box(row.get::<_, &[u8]>(1));
        }
    }
}
