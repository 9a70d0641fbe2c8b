//! Prints JSON lines: entries a second made and checked, beside bare SHA-256 over the same bytes.
//! `cargo bench -p lotwarden-ledger --bench chain -- [ENTRIES]`
use std::{error::Error, io::Cursor, time::Instant};

use jiff::{SignedDuration, Timestamp};
use lotwarden_ledger::{
    ChainCheck, Disclosure, Event, Head, entry_hash, merkle,
    parcel::{Attachments, EXPORT_ACTION, Header, ParcelWriter, verify},
};
use serde::Serialize;
use serde_json::json;
use uuid::Uuid;

#[derive(Serialize)]
struct Scan<'a> {
    case: &'a str,
    commitments: Commitments<'a>,
    identifier: &'a str,
    lot: &'a str,
    quantity: u32,
    verdict: &'a str,
}

#[derive(Serialize)]
struct Commitments<'a> {
    record_number: &'a str,
}

const CASE: &str = "0192f0c4-7a10-7c3e-8f21-0a1b2c3d4e5f";
const ACTOR: &str = "0192f0c4-7a10-7c3e-8f21-000000000007";

fn event(digest: &str, lot: &str) -> Result<Event, Box<dyn Error>> {
    let scan = Scan {
        case: CASE,
        commitments: Commitments {
            record_number: digest,
        },
        identifier: "09521234543213",
        lot,
        quantity: 1,
        verdict: "taken",
    };
    let station = Some("station-3".to_owned());
    Ok(Event::new("record_scan", ACTOR, station, CASE, &scan)?)
}

/// Runs three times and gives the best, so that a neighbour's noise does not count.
fn best(mut run: impl FnMut() -> Result<(), Box<dyn Error>>) -> Result<f64, Box<dyn Error>> {
    let mut best = f64::INFINITY;
    for _ in 0..3 {
        let start = Instant::now();
        run()?;
        best = best.min(start.elapsed().as_secs_f64());
    }
    Ok(best)
}

fn report(what: &str, entries: usize, seconds: f64, floor: f64) {
    let line = json!({
        "bench": what,
        "entries": entries,
        "entries_per_s": (entries as f64 / seconds).round(),
        "sha256_per_s": (entries as f64 / floor).round(),
        "of_floor": (floor / seconds * 1000.0).round() / 1000.0,
    });
    println!("{line}");
}

fn main() -> Result<(), Box<dyn Error>> {
    let entries: usize = std::env::args()
        .filter_map(|argument| argument.parse().ok())
        .next()
        .unwrap_or(1_000_000);
    let ledger = Uuid::from_u128(0x0192_f0c4_7a10_7c3e_8f21_0a1b_2c3d_0001);
    let start: Timestamp = "2026-11-24T08:00:00Z".parse()?;
    let digest = Disclosure::new("record_number", "0", [7; 16]).digest();
    let sample = event(&digest, "LOT-0001")?;
    let mut head = Head::empty(ledger);
    let mut bodies = Vec::with_capacity(entries);
    for number in 0..entries {
        let at = start + SignedDuration::from_micros(number as i64);
        bodies.push(head.append(&sample, at)?.body);
    }
    let bytes: usize = bodies.iter().map(Vec::len).sum();
    println!(
        "{}",
        json!({"bench": "size", "entries": entries, "bytes_per_entry": bytes / entries})
    );

    let floor = best(|| {
        for body in &bodies {
            std::hint::black_box(entry_hash(body));
        }
        Ok(())
    })?;
    report(
        "append",
        entries,
        best(|| {
            let mut head = Head::empty(ledger);
            for number in 0..entries {
                let at = start + SignedDuration::from_micros(number as i64);
                std::hint::black_box(head.append(&sample, at)?);
            }
            Ok(())
        })?,
        floor,
    );
    report(
        "event_and_append",
        entries,
        best(|| {
            let mut head = Head::empty(ledger);
            for number in 0..entries {
                let at = start + SignedDuration::from_micros(number as i64);
                std::hint::black_box(head.append(&event(&digest, "LOT-0001")?, at)?);
            }
            Ok(())
        })?,
        floor,
    );
    report(
        "verify",
        entries,
        best(|| {
            let mut check = ChainCheck::new(ledger, None);
            for body in &bodies {
                check.feed(body)?;
            }
            Ok(())
        })?,
        floor,
    );
    report(
        "verify_strict",
        entries,
        best(|| {
            let mut check = ChainCheck::new(ledger, None).strict();
            for body in &bodies {
                check.feed(body)?;
            }
            Ok(())
        })?,
        floor,
    );
    let leaves: Vec<_> = bodies.iter().map(|body| entry_hash(body)).collect();
    report(
        "merkle_root",
        entries,
        best(|| {
            std::hint::black_box(merkle::root(&leaves));
            Ok(())
        })?,
        floor,
    );

    let none = std::iter::empty::<()>;
    let attachments = Attachments::new(none(), std::iter::empty(), none())?;
    let data = attachments.export_data("bench");
    let export = Event::new(EXPORT_ACTION, ACTOR, None, ledger.to_string(), &data)?;
    let export = head.append(&export, start + SignedDuration::from_hours(1))?;
    let header = Header::new("bench", &Head::empty(ledger), &head).ok_or("an empty ledger")?;
    let mut writer = ParcelWriter::new(Vec::with_capacity(bytes + bytes / 8), &header)?;
    for body in &bodies {
        writer.entry(body)?;
    }
    writer.entry(&export.body)?;
    let parcel = writer.attachments(&attachments, 0)?.finish()?;
    report(
        "verify_parcel",
        entries,
        best(|| {
            verify(Cursor::new(&parcel), |_| {})?;
            Ok(())
        })?,
        floor,
    );
    Ok(())
}
