//! Measures the service beside its floors, in one run, and prints a JSON line for each figure.
//!
//! A floor is the same work by the plainest possible means: single-row inserts without an audit
//! trail, a bare index look-up, bare SHA-256 over the same bytes.

mod codes;
mod feed;
mod http;
mod prepared;
mod recall;
mod scans;
mod size;
mod timing;
mod verify;
mod where_used;

use anyhow::Context;
use size::Size;

fn main() -> anyhow::Result<()> {
    let what = std::env::args().nth(1).unwrap_or_default();
    let size = Size::asked();
    if what == "codes" {
        codes::run(size);
        return Ok(());
    }
    let server = std::env::var("LOTWARDEN_TEST_CLUSTER")
        .context("LOTWARDEN_TEST_CLUSTER names no server; tests/bench/run starts one")?;
    let runtime = tokio::runtime::Builder::new_multi_thread()
        .worker_threads(2)
        .enable_all()
        .build()?;
    match what.as_str() {
        "scans" => runtime.block_on(scans::run(&server, one_row()?)),
        "feed" => runtime.block_on(feed::run(&server, size)),
        "http" => runtime.block_on(http::run(&server, size, http::Figures::Speed)),
        "memory" => runtime.block_on(http::run(&server, size, http::Figures::Memory)),
        "recall" => runtime.block_on(recall::run(&server, size)),
        "where-used" => runtime.block_on(where_used::run(&server, size)),
        "verify" => runtime.block_on(verify::run(&server, size)),
        other => anyhow::bail!(
            "{other:?} is no benchmark; use codes, scans, http, where-used, recall, feed, verify or memory"
        ),
    }
}

/// The ledgers and callers of the one row asked for, as in `scans 1 64`.
fn one_row() -> anyhow::Result<Option<(usize, usize)>> {
    let mut numbers = std::env::args().skip(2).map(|number| number.parse());
    match (numbers.next(), numbers.next()) {
        (Some(ledgers), Some(callers)) => Ok(Some((ledgers?, callers?))),
        _ => Ok(None),
    }
}
