//! `lotwarden where-used`

mod report;

use std::process::ExitCode;

use anyhow::Context;
use lotwarden_api::where_used::WhereUsed;
use lotwarden_domain::access::act;
use lotwarden_store::where_used::{Question, ShowWhereUsed};
use lotwarden_store::{Rendered, Request};

use super::opened::Opened;
use super::print;
use crate::settings::Settings;

/// Answers which cases, patients and places an item reached.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden where-used --identifier 09520123456788 --lot L2611A
  lotwarden where-used --identifier '(01)09520123456788(10)L2611A(21)SN-000417'
  lotwarden where-used --identifier +A99912345 --serial 77 --json
  lotwarden where-used --identifier 09520123456788 --with-identity

`affected` items name what was asked for; items whose record does not say are
`cannot_exclude`. Each answer is an entry of the ledger; with --with-identity it
says that patients were shown.")]
pub struct Args {
    /// GTIN, HIBC code, NDC, agency:code, or the text of a scanned label
    #[arg(long)]
    identifier: String,
    /// Lot, exactly as printed
    #[arg(long)]
    lot: Option<String>,
    /// Serial, exactly as printed
    #[arg(long)]
    serial: Option<String>,
    /// Show who the patients are
    #[arg(long)]
    with_identity: bool,
    /// For programs: the answer of GET /v1/where-used
    #[arg(long)]
    json: bool,
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
}

/// Asks and prints.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let now = opened.recorder.clock().now();
    let today = facility.day(now);
    let question = Question::read(&args.identifier, args.lot, args.serial, today)?;
    let key = facility.key(opened.recorder.master())?;
    let operation = ShowWhereUsed {
        facility_key: args.with_identity.then_some(key),
        question: question.clone(),
    };
    let grant = opened.grant::<act::ShowWhereUsed>(&facility)?;
    let json = args.json;
    let zone = facility.zone.clone();
    let recorded = opened.recorder.record(
        &grant,
        Request::default(),
        operation,
        move |found, receipt| {
            let text = if json {
                let answer = WhereUsed::of(&question, found);
                serde_json::to_string(&answer).unwrap_or_default() + "\n"
            } else {
                report::text(&question, found, &zone, receipt)
            };
            Rendered {
                status: 200,
                body: text.into_bytes(),
                etag: None,
            }
        },
    );
    let answer = opened
        .runtime
        .block_on(recorded)
        .context("nothing was recorded")?;
    print(&String::from_utf8(answer.rendered.body)?)?;
    Ok(ExitCode::SUCCESS)
}
