//! From the confirmation of a notice with 200 lots to the list of its patients, beside the bare SQL
//! join that finds the same rows.

use crate::prepared::{GTIN, Prepared};
use crate::size::Size;
use crate::timing::{Times, round};
use crate::where_used::load::Loaded;
use anyhow::{Context, anyhow};
use lotwarden_domain::access::Grant;
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::notices::{Named, NoticeEnd, NoticeSource};
use lotwarden_store::cases::{OpenCase, Patient};
use lotwarden_store::notices::{
    AddNotice, ConfirmNotice, Criterion, EndNotice, ListMatches, MatchList, NewCriterion, NewNotice,
};
use lotwarden_store::recorder::Operation;
use lotwarden_store::{Receipt, Rendered, Request};
use serde_json::json;
use std::collections::BTreeSet;
use std::sync::{Arc, Mutex};
use std::time::Instant;
use uuid::Uuid;

const LOTS: u32 = 200;
const PATIENTS: u32 = 2_000;

/// What a service without a ledger, criteria or classes would ask.
const FLOOR: &str = "SELECT u.scan_id, u.case_id, c.patient_id, c.procedure_name, c.scheduled_for, c.status \
    FROM lots l JOIN uses u ON u.lot_id = l.id JOIN cases c ON c.id = u.case_id \
    WHERE l.product_id = $1 AND l.number = ANY ($2) AND u.struck_at IS NULL";

/// Loads two sizes one after the other into one database and recalls at each.
pub async fn run(server: &str, size: Size) -> anyhow::Result<()> {
    let sizes = size.pick([1_000_000, 10_000_000], [100_000, 1_000_000]);
    let rounds = size.pick(40, 6);
    let prepared = Prepared::make(server, 1, 1, 1).await?;
    let mut loaded = Loaded::of(patients(&prepared).await?);
    for uses in sizes {
        eprintln!("loading up to {uses} uses");
        let started = Instant::now();
        loaded.grow(&prepared, uses).await?;
        eprintln!("loaded in {} s", started.elapsed().as_secs());
        measure(&prepared, &loaded, uses, rounds).await?;
    }
    Ok(())
}

/// Patients whose identities open.
async fn patients(prepared: &Prepared) -> anyhow::Result<Vec<Uuid>> {
    let site = prepared.sites.first().context("no facility")?;
    let facility = prepared.recorder.facility(site.facility).await?;
    for number in 0..PATIENTS {
        let operation = OpenCase {
            facility_key: facility.key(prepared.recorder.master())?,
            patient: Patient {
                born_on: None,
                name: format!("Example {number}"),
                record_number: format!("BENCH-{number}"),
            },
            procedure: "Procedure".to_owned(),
            location: site.location,
            practitioner: site.person,
            scheduled_for: crate::prepared::now(),
        };
        record(prepared, operation, |_| ()).await?;
    }
    let rows = prepared
        .client
        .query(
            "SELECT id FROM patients WHERE octet_length(sealed) > 0 ORDER BY id",
            &[],
        )
        .await?;
    Ok(rows.iter().map(|row| row.get(0)).collect())
}

/// Records an operation and gives what is kept of its outcome.
async fn record<O: Operation, T: Send + 'static>(
    prepared: &Prepared,
    operation: O,
    keep: impl Fn(&O::Outcome) -> T + Send + Sync + 'static,
) -> anyhow::Result<T> {
    let facility = prepared.sites.first().context("no facility")?.facility;
    let grant: Grant<O::Permission> = Grant::to_operator("bench", facility);
    let kept: Arc<Mutex<Option<T>>> = Arc::default();
    let into = Arc::clone(&kept);
    let render = move |outcome: &O::Outcome, _: Receipt| {
        if let Ok(mut into) = into.lock() {
            *into = Some(keep(outcome));
        }
        Rendered {
            status: 200,
            body: Vec::new(),
            etag: None,
        }
    };
    let recorded = prepared
        .recorder
        .record(&grant, Request::default(), operation, render);
    recorded.await.map_err(|error| anyhow!("{error}"))?;
    let outcome = kept.lock().ok().and_then(|mut kept| kept.take());
    outcome.context("an operation without an outcome")
}

async fn measure(
    prepared: &Prepared,
    loaded: &Loaded,
    uses: u32,
    rounds: u32,
) -> anyhow::Result<()> {
    let (mut times, mut confirmed, mut floor) =
        (Times::default(), Times::default(), Times::default());
    let (mut items, mut rows) = (0, 0);
    let row = prepared
        .client
        .query_one(
            "SELECT product_id FROM product_identifiers WHERE code = $1",
            &[&GTIN],
        )
        .await?;
    let product: Uuid = row.get(0);
    // As the service has it, so that the floor is no slower than it could be.
    prepared.client.batch_execute("SET jit = off").await?;
    let statement = prepared.client.prepare(FLOOR).await?;
    let warm = rounds / 5 + 1;
    for number in 0..warm + rounds {
        let (to_confirm, to_list, found) = recall(prepared, &lots(loaded, number * 2)).await?;
        // Other lots than the recall's, so that neither reads what the other brought into memory.
        let others: Vec<String> = lots(loaded, number * 2 + 1).into_iter().collect();
        let started = Instant::now();
        let bare = prepared
            .client
            .query(&statement, &[&product, &others])
            .await?;
        let elapsed = started.elapsed();
        if number >= warm {
            confirmed.push(to_confirm);
            times.push(to_list);
            floor.push(elapsed);
            items += found;
            rows += bare.len();
        }
    }
    let mean = |count: usize| round(count as f64 / f64::from(rounds), 0);
    let (p50, p95) = (times.quantile(0.5), times.quantile(0.95));
    let (floor_p50, floor_p95) = (floor.quantile(0.5), floor.quantile(0.95));
    let line = json!({
        "benchmark": "recall", "uses": uses, "lots": LOTS, "items": mean(items),
        "confirm_p50_ms": confirmed.quantile(0.5), "p50_ms": p50, "p95_ms": p95,
        "floor": "bare SQL join", "floor_p50_ms": floor_p50, "floor_p95_ms": floor_p95,
        "floor_items": mean(rows), "ratio": round(p50 / floor_p50, 1),
    });
    println!("{line}");
    Ok(())
}

/// The numbers of lots of one round, well apart from those of the rounds before and after.
fn lots(loaded: &Loaded, round: u32) -> BTreeSet<String> {
    let numbers = (0..LOTS).map(|at| loaded.lot_number(loaded.scattered(round * LOTS + at)));
    numbers.collect()
}

/// Confirms a notice of these lots and lists its patients: how long the first took, how long both,
/// and how many items were found.
async fn recall(
    prepared: &Prepared,
    lots: &BTreeSet<String>,
) -> anyhow::Result<(std::time::Duration, std::time::Duration, usize)> {
    let operation = AddNotice {
        notice: NewNotice {
            firm: "Bench".to_owned(),
            reference: Uuid::now_v7().to_string(),
            class: None,
            source: NoticeSource::Letter,
            status: None,
            received_on: None,
            product: String::new(),
            reason: String::new(),
            text: String::new(),
            also_named: Vec::new(),
        },
        follows: None,
    };
    let notice = record(prepared, operation, |notice| notice.id).await?;
    let criterion = Criterion {
        catalogue_numbers: Vec::new(),
        identifiers: vec![GTIN.to_owned()],
        items: Named {
            lots: lots.iter().cloned().collect(),
            ..Named::default()
        },
        product_ids: Vec::new(),
    };
    let codes = vec![ProductCode {
        agency: "gs1",
        code: GTIN.to_owned(),
    }];
    let operation = ConfirmNotice {
        id: notice,
        version: 1,
        criteria: vec![NewCriterion { criterion, codes }],
        open: false,
    };
    let facility = prepared.sites.first().context("no facility")?.facility;
    let facility = prepared.recorder.facility(facility).await?;
    let facility_key = facility.key(prepared.recorder.master())?;
    let started = Instant::now();
    let version = record(prepared, operation, |confirmed| confirmed.notice.version).await?;
    let to_confirm = started.elapsed();
    let operation = ListMatches {
        notice,
        facility_key,
    };
    let (items, opened) = record(prepared, operation, |list: &MatchList| {
        (list.matches.items.len(), list.patients.len())
    })
    .await?;
    let to_list = started.elapsed();
    anyhow::ensure!(items > 0 && opened > 0, "a notice hit nothing");
    // So that the next round's confirmation does not hit the lots of this one.
    let operation = EndNotice {
        id: notice,
        version,
        end: NoticeEnd::Withdrawn,
        on: None,
        reason: "Measured".to_owned(),
    };
    record(prepared, operation, |_| ()).await?;
    Ok((to_confirm, to_list, items))
}
