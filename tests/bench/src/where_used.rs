//! Where-used over many uses of one product, beside the bare index look-up.

pub mod load;

use crate::prepared::{GTIN, Prepared};
use crate::size::Size;
use crate::timing::{Times, round};
use anyhow::Context;
use load::Loaded;
use lotwarden_domain::label::ProductCode;
use lotwarden_store::Database;
use lotwarden_store::where_used::{Question, uses_of};
use serde_json::json;
use std::time::Instant;
use tokio_postgres::Client;

/// One kind of question and its floor.
struct Kind {
    name: &'static str,
    floor: &'static str,
}

const KINDS: [Kind; 2] = [
    Kind {
        name: "lot",
        floor: "SELECT case_id, scan_id FROM uses WHERE lot_id = $1",
    },
    Kind {
        name: "serial",
        floor: "SELECT case_id, scan_id FROM uses WHERE unit_id = $1",
    },
];

/// Loads two sizes one after the other into one database and asks at each.
pub async fn run(server: &str, size: Size) -> anyhow::Result<()> {
    let sizes = size.pick([1_000_000, 10_000_000], [100_000, 1_000_000]);
    let questions = size.pick(1_000, 300);
    let prepared = Prepared::make(server, 1, 1, 1).await?;
    let mut loaded = Loaded::of(Vec::new());
    let mut medians: Vec<Vec<Figures>> = Vec::new();
    for uses in sizes {
        eprintln!("loading up to {uses} uses");
        let started = Instant::now();
        loaded.grow(&prepared, uses).await?;
        eprintln!("loaded in {} s", started.elapsed().as_secs());
        let mut at_this_size = Vec::new();
        for kind in &KINDS {
            let figures = measure(&prepared, &loaded, kind, questions).await?;
            print(uses, kind, &figures);
            at_this_size.push(figures);
        }
        medians.push(at_this_size);
    }
    if let [small, large] = medians.as_slice() {
        for ((kind, small), large) in KINDS.iter().zip(small).zip(large) {
            let line = json!({
                "benchmark": "where_used_growth", "question": kind.name,
                "from_uses": sizes[0], "to_uses": sizes[1],
                "p50_growth": round(large.p50 / small.p50, 2),
                "floor_p50_growth": round(large.floor_p50 / small.floor_p50, 2),
            });
            println!("{line}");
        }
    }
    Ok(())
}

struct Figures {
    p50: f64,
    p99: f64,
    items: f64,
    floor_p50: f64,
    floor_p99: f64,
    floor_items: f64,
}

fn print(uses: u32, kind: &Kind, figures: &Figures) {
    let line = json!({
        "benchmark": "where_used", "uses": uses, "question": kind.name,
        "p50_ms": figures.p50, "p99_ms": figures.p99, "items": figures.items,
        "floor": kind.floor, "floor_p50_ms": figures.floor_p50, "floor_p99_ms": figures.floor_p99,
        "floor_items": figures.floor_items,
        "ratio": round(figures.p50 / figures.floor_p50, 1),
    });
    println!("{line}");
}

/// Asks about other lots and pieces than the floor does, so that neither reads what the other has
/// brought into memory.
async fn measure(
    prepared: &Prepared,
    loaded: &Loaded,
    kind: &Kind,
    questions: u32,
) -> anyhow::Result<Figures> {
    let facility = prepared.sites.first().context("no facility")?.facility;
    let database: &Database = prepared.recorder.database();
    let mut reading = database.reading(facility).await?;
    let warm = questions / 10;
    let mut times = Times::default();
    let mut items = 0;
    for number in 0..warm + questions {
        let question = question(kind, loaded, number * 2);
        let started = Instant::now();
        let found = uses_of(&mut reading, &question).await?;
        let elapsed = started.elapsed();
        anyhow::ensure!(!found.items.is_empty(), "a question found nothing");
        if number >= warm {
            times.push(elapsed);
            items += found.items.len();
        }
    }
    let (mut floor, floor_items) = floor(&prepared.client, loaded, kind, warm, questions).await?;
    let mean = |items: usize| round(items as f64 / f64::from(questions), 1);
    Ok(Figures {
        p50: times.quantile(0.5),
        p99: times.quantile(0.99),
        items: mean(items),
        floor_p50: floor.quantile(0.5),
        floor_p99: floor.quantile(0.99),
        floor_items: mean(floor_items),
    })
}

fn question(kind: &Kind, loaded: &Loaded, number: u32) -> Question {
    let scattered = loaded.scattered(number);
    let by_lot = kind.name == "lot";
    Question {
        codes: vec![ProductCode {
            agency: "gs1",
            code: GTIN.to_owned(),
        }],
        lot: by_lot.then(|| loaded.lot_number(scattered)),
        serial: (!by_lot).then(|| loaded.serial(scattered)),
    }
}

async fn floor(
    client: &Client,
    loaded: &Loaded,
    kind: &Kind,
    warm: u32,
    questions: u32,
) -> anyhow::Result<(Times, usize)> {
    let statement = client.prepare(kind.floor).await?;
    let mut times = Times::default();
    let mut items = 0;
    for number in 0..warm + questions {
        let scattered = loaded.scattered(number * 2 + 1);
        let id = match kind.name {
            "lot" => loaded.lot(scattered),
            _ => loaded.unit(scattered),
        };
        let started = Instant::now();
        let rows = client.query(&statement, &[&id]).await?;
        let elapsed = started.elapsed();
        anyhow::ensure!(!rows.is_empty(), "a look-up found nothing");
        if number >= warm {
            times.push(elapsed);
            items += rows.len();
        }
    }
    Ok((times, items))
}
