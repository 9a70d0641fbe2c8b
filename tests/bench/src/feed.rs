//! Taking in a feed of enforcement records with a full catalogue and years of uses in the database,
//! as `lotwarden notices import` does, beside bare inserts of the same rows.

use crate::prepared::Prepared;
use crate::size::Size;
use crate::timing::round;
use crate::where_used::load::Loaded;
use anyhow::{Context, anyhow};
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::import::{NoticeRecord, read_notices};
use lotwarden_store::notices::{ImportNotices, ImportedNotices, MOST_NOTICES};
use lotwarden_store::{Rendered, Request};
use serde_json::json;
use std::fmt::Write as _;
use std::io::Cursor;
use std::ops::ControlFlow;
use std::time::Instant;
use tokio_postgres::types::ToSql;

/// One record in so many names an identifier of the catalogue.
const KNOWN: u32 = 10;

/// Fills the catalogue, loads the uses and takes the feed in.
pub async fn run(server: &str, size: Size) -> anyhow::Result<()> {
    let identifiers: u32 = size.pick(5_000_000, 100_000);
    let uses: u32 = size.pick(10_000_000, 100_000);
    let records: u32 = size.pick(20_000, 1_000);
    let prepared = Prepared::make(server, 1, 1, 1).await?;
    let started = Instant::now();
    catalogue(&prepared, identifiers).await?;
    Loaded::of(Vec::new()).grow(&prepared, uses).await?;
    eprintln!(
        "{identifiers} identifiers and {uses} uses loaded in {} s",
        started.elapsed().as_secs()
    );
    let feed = feed(records, identifiers);
    let bytes = feed.len();
    let started = Instant::now();
    let read = read(feed)?;
    let to_read = started.elapsed();
    let imported = import(&prepared, &read).await?;
    let elapsed = started.elapsed();
    anyhow::ensure!(imported.added == read.len(), "a record was not taken in");
    let floor = floor(&prepared, &read).await?;
    let rate = |seconds: f64| round(f64::from(records) / seconds, 0);
    let line = json!({
        "benchmark": "feed", "identifiers": identifiers, "uses": uses, "records": records, "bytes": bytes,
        "in_catalogue": imported.in_catalogue, "seconds": round(elapsed.as_secs_f64(), 2),
        "reading_seconds": round(to_read.as_secs_f64(), 2), "per_second": rate(elapsed.as_secs_f64()),
        "floor": "bare inserts of the same rows, 250 a statement", "floor_per_second": rate(floor),
        "ratio": round(elapsed.as_secs_f64() / floor, 1),
    });
    println!("{line}");
    Ok(())
}

/// GTIN-14 of GS1's example prefix 952; without its check digit, which nothing here looks at.
fn gtin(number: u32) -> String {
    let body = format!("0952{number:09}");
    let weighted = body.bytes().enumerate().map(|(at, digit)| {
        let digit = u32::from(digit - b'0');
        if at % 2 == 0 { 3 * digit } else { digit }
    });
    let check = (10 - weighted.sum::<u32>() % 10) % 10;
    format!("{body}{check}")
}

/// Ten identifiers a product.
async fn catalogue(prepared: &Prepared, identifiers: u32) -> anyhow::Result<()> {
    let site = prepared.sites.first().context("no facility")?;
    let facility = site.facility;
    let id = "(lpad(to_hex(1500000000000 + n / 10), 12, '0') || '70008000000000000000')::uuid";
    // The check digit as GS1 General Specifications, 7.9, computes it.
    let code = "c.body || ((10 - (SELECT sum(substr(c.body, i, 1)::int * CASE i % 2 WHEN 1 THEN 3 ELSE 1 END) FROM generate_series(1, 13) i) % 10) % 10)";
    let statements = [
        "SET session_replication_role = replica".to_owned(),
        format!(
            "INSERT INTO products SELECT '{facility}', {id}, 'Item ' || n, 'Maker', 'M-' || n, 'other', 'single_use', true, false, true, true, 1, now() FROM generate_series(0, {identifiers} - 1, 10) n"
        ),
        format!(
            "INSERT INTO product_identifiers SELECT '{facility}', 'gs1', {code}, {id}, 'unit', 1, true
             FROM generate_series(0, {identifiers} - 1) n, LATERAL (SELECT '0952' || lpad(n::text, 9, '0') AS body) c"
        ),
        "VACUUM ANALYZE products, product_identifiers".to_owned(),
        "CHECKPOINT".to_owned(),
    ];
    for statement in &statements {
        prepared
            .client
            .batch_execute(statement)
            .await
            .context("cannot fill the catalogue")?;
    }
    Ok(())
}

/// Records one a line, in the shapes that firms write their codes in.
fn feed(records: u32, identifiers: u32) -> String {
    let mut feed = String::new();
    for number in 0..records {
        // An identifier of the catalogue, or one well behind it.
        let named = if number % KNOWN == 0 {
            number * 7 % identifiers
        } else {
            identifiers + 1_000_000 + number
        };
        let lots: Vec<String> = (0..30).map(|at| format!("L{number:05}{at:02}")).collect();
        let codes = match number % 3 {
            0 => format!("UDI-DI {}, Lot Numbers: {}", gtin(named), lots.join(", ")),
            1 => format!(
                "GTIN {}; Lots: {} Exp 11/2028",
                gtin(named),
                lots.join("; ")
            ),
            _ => format!("UDI: {} Serial Numbers: {}", gtin(named), lots.join(", ")),
        };
        let record = json!({
            "recall_number": format!("Z-{number:05}-2026"), "event_id": (90_000 + number / 3).to_string(),
            "recalling_firm": format!("Invented Firm {}", number % 500),
            "classification": "Class II", "status": "Ongoing",
            "product_description": format!("Item {number}, box of 10, sterile, single use"),
            "reason_for_recall": "Pouch seals may be open", "code_info": codes,
            "product_quantity": "100 boxes", "report_date": "20261124",
        });
        let _ = writeln!(feed, "{record}");
    }
    feed
}

fn read(feed: String) -> anyhow::Result<Vec<NoticeRecord>> {
    let mut records = Vec::new();
    let mut faults = 0;
    read_notices(Cursor::new(feed), &mut |record| {
        match record {
            Ok(record) => records.push(record),
            Err(_) => faults += 1,
        }
        ControlFlow::Continue(())
    })?;
    anyhow::ensure!(faults == 0, "{faults} records were not read");
    Ok(records)
}

async fn import(prepared: &Prepared, records: &[NoticeRecord]) -> anyhow::Result<ImportedNotices> {
    let facility = prepared.sites.first().context("no facility")?.facility;
    let grant: Grant<act::AddNotice> = Grant::to_operator("bench", facility);
    let mut sums = ImportedNotices::default();
    for batch in records.chunks(MOST_NOTICES) {
        let operation = ImportNotices {
            records: batch.to_vec(),
            file_sha256: "0".repeat(64),
        };
        let rendered = |outcome: &ImportedNotices, _| Rendered {
            status: 200,
            body: serde_json::to_vec(outcome).unwrap_or_default(),
            etag: None,
        };
        let recorded = prepared
            .recorder
            .record(&grant, Request::default(), operation, rendered);
        let answer = recorded.await.map_err(|error| anyhow!("{error}"))?;
        let outcome: ImportedNotices = serde_json::from_slice(&answer.rendered.body)?;
        sums.added += outcome.added;
        sums.in_catalogue += outcome.in_catalogue;
    }
    Ok(sums)
}

/// The seconds that the same rows take without reading, matching, criteria and ledger.
async fn floor(prepared: &Prepared, records: &[NoticeRecord]) -> anyhow::Result<f64> {
    let client = &prepared.client;
    client
        .batch_execute(
            "CREATE TABLE bare_notices (id bigserial PRIMARY KEY, firm text, reference text, product text, reason text, text text)",
        )
        .await?;
    let started = Instant::now();
    for batch in records.chunks(MOST_NOTICES) {
        let column = |of: fn(&NoticeRecord) -> String| batch.iter().map(of).collect::<Vec<_>>();
        let columns = [
            column(|one| one.firm.clone()),
            column(|one| one.recall_number.clone().unwrap_or_default()),
            column(|one| one.product.clone()),
            column(|one| one.reason.clone()),
            column(|one| one.codes.clone()),
        ];
        let parameters: Vec<&(dyn ToSql + Sync)> =
            columns.iter().map(|c| c as &(dyn ToSql + Sync)).collect();
        client
            .execute(
                "INSERT INTO bare_notices (firm, reference, product, reason, text) SELECT * FROM unnest($1::text[], $2::text[], $3::text[], $4::text[], $5::text[])",
                &parameters,
            )
            .await?;
    }
    Ok(started.elapsed().as_secs_f64())
}
