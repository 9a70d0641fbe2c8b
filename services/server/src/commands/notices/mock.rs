//! `lotwarden notices mock`

use std::process::ExitCode;

use anyhow::Context;
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::notices::{MockRecall, Rehearsed};
use lotwarden_store::{Receipt, Rendered, Request};

use super::super::opened::Opened;
use super::super::print;
use crate::settings::Settings;

/// Rehearses a recall of a lot drawn at random, for the file.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden notices mock
  lotwarden notices mock --facility \"Harbour Street Endoscopy\" > mock-recall.txt

A lot that was received is drawn by the ledger's head, everything it reached is
found against the clock, and the result is an entry of the ledger. Nothing is held
and nobody's identity is opened.")]
pub struct Args {
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
}

/// Draws, finds and prints.
pub fn run(args: &Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let grant = opened.grant::<act::MockRecall>(&facility)?;
    let at = instant_text(opened.recorder.clock().now());
    let name = facility.name.clone();
    let recorded = opened.recorder.record(
        &grant,
        Request::default(),
        MockRecall,
        move |rehearsed, receipt| Rendered {
            status: 200,
            body: text(&name, &at, rehearsed, receipt).into_bytes(),
            etag: None,
        },
    );
    let answer = opened.runtime.block_on(recorded);
    let answer = answer.context("nothing was recorded")?;
    print(&String::from_utf8(answer.rendered.body)?)?;
    Ok(ExitCode::SUCCESS)
}

fn text(facility: &str, at: &str, rehearsed: &Rehearsed, receipt: Receipt) -> String {
    let all = rehearsed.counts.reconcile(rehearsed.received);
    let counts = &rehearsed.counts;
    let elapsed = rehearsed.elapsed_us;
    format!(
        "Mock recall at {facility}, {at}
  drawn        lot {} of {}, by the ledger's head {}
  reached      {} items of the lot and {} whose lot was not recorded; {} cases, {} patients
  by the record received {} = on record {} + used {} + wasted {} + unaccounted {} (more known of: {})
  found in     {}.{:03} ms
  entry        {}, {}
",
        rehearsed.number,
        rehearsed.product,
        rehearsed.seed,
        rehearsed.affected,
        rehearsed.cannot_exclude,
        rehearsed.cases,
        rehearsed.patients,
        rehearsed.received,
        counts.on_hand,
        counts.used,
        counts.wasted,
        all.unaccounted(),
        all.too_many(),
        elapsed / 1_000,
        elapsed % 1_000,
        receipt.position,
        receipt.hash
    )
}
