//! `lotwarden catalogue`

use std::io::BufRead;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::catalogue::ProductKind;
use lotwarden_domain::import::{self, Format, ProductRecord};
use lotwarden_store::catalogue::{ImportOutcome, ImportProducts, MOST_RECORDS};
use lotwarden_store::{Recorder, Rendered, Request};
use serde_json::json;

use super::files::{Batch, Progress, Source, in_batches};
use super::opened::Opened;
use super::print;
use crate::settings::Settings;

/// Takes product records in from a file.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden catalogue import products.csv
  lotwarden catalogue import gudid_full_release.xml --facility \"Harbour Street Endoscopy\"
  lotwarden catalogue import devices.ndjson.gz --format gudid --json")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Import a CSV catalogue or GUDID device records
    Import(ImportArgs),
}

#[derive(clap::Args)]
#[command(after_long_help = import_help())]
struct ImportArgs {
    /// The file; it may be compressed with gzip
    file: PathBuf,
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
    /// csv or gudid [default: what the file looks like]
    #[arg(long)]
    format: Option<Format>,
    /// Print the summary as one JSON object
    #[arg(long)]
    json: bool,
}

fn import_help() -> String {
    let columns: Vec<String> = import::COLUMNS
        .iter()
        .map(|(name, meaning)| format!("  {name:<17} {meaning}"))
        .collect();
    let kinds: Vec<&str> = ProductKind::ALL.iter().map(|kind| kind.as_str()).collect();
    format!(
        "A product that has one of a record's identifiers is described anew, others are added; the
same file again changes nothing. A record with a fault is skipped and listed. A code
whose check digit does not fit is kept as printed and counted as a warning.

GUDID records are JSON objects one a line or in an array, answers of openFDA's
device/udi, or the published XML. Unit-of-use identifiers stand on no label and are
left out.

Columns of a CSV file, named in its first line; the first four have to be there. Rows
that agree in product, or without it in name, maker and model, are one product:
{}

Kinds: {}",
        columns.join("\n"),
        kinds.join(", ")
    )
}

/// Imports.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let What::Import(args) = args.what;
    let mut source = Source::open(&args.file)?;
    let first = source.reader.fill_buf();
    let first = first.with_context(|| format!("cannot read {}", args.file.display()))?;
    let seen = Format::of(first);
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let grant = opened.grant::<act::AddProduct>(&facility)?;
    let mut import = Import {
        recorder: &opened.recorder,
        grant,
        format: args.format.unwrap_or(seen),
        file_sha256: source.sha256.clone(),
        progress: Progress::start(&source),
        sums: Sums::default(),
    };
    let format = import.format;
    let ended = in_batches(
        &opened.runtime,
        &args.file,
        MOST_RECORDS,
        move |take| import::read(format, source.reader, take),
        async |batch| import.take(batch).await,
    );
    let Import { progress, sums, .. } = import;
    progress.finish();
    print(&sums.summary(args.json))?;
    ended?;
    Ok(ExitCode::SUCCESS)
}

struct Import<'a> {
    recorder: &'a Recorder,
    grant: Grant<act::AddProduct>,
    format: Format,
    file_sha256: String,
    progress: Progress,
    sums: Sums,
}

impl Import<'_> {
    async fn take(&mut self, batch: Batch<ProductRecord>) -> anyhow::Result<()> {
        let count = batch.len() as u64;
        let mut records = Vec::with_capacity(batch.len());
        for record in batch {
            self.sums.read += 1;
            match record {
                Ok(record) => records.push(record),
                Err(fault) => {
                    let what = format!("{}: {}", fault.field, fault.problem);
                    self.skip(fault.line, what);
                }
            }
        }
        self.warn(&records);
        if !records.is_empty() {
            self.record(records).await?;
        }
        self.progress.advance(count);
        Ok(())
    }

    async fn record(&mut self, records: Vec<ProductRecord>) -> anyhow::Result<()> {
        let first = records.first().map_or(0, |record| record.line);
        let operation = ImportProducts {
            records,
            format: self.format,
            file_sha256: self.file_sha256.clone(),
        };
        let rendered = |outcome: &ImportOutcome, _| Rendered {
            status: 200,
            body: serde_json::to_vec(outcome).unwrap_or_default(),
            etag: None,
        };
        let recorded = self
            .recorder
            .record(&self.grant, Request::default(), operation, rendered);
        let answer = recorded
            .await
            .with_context(|| format!("nothing from line {first} on was recorded"))?;
        let outcome: ImportOutcome = serde_json::from_slice(&answer.rendered.body)?;
        self.sums.added += outcome.added;
        self.sums.changed += outcome.changed;
        self.sums.unchanged += outcome.unchanged;
        for (line, code) in outcome.taken {
            self.skip(line, format!("{code} names another product already"));
        }
        Ok(())
    }

    fn skip(&mut self, line: u64, what: String) {
        self.progress.say(&format!("line {line} skipped: {what}"));
        self.sums.skipped.push((line, what));
    }

    fn warn(&mut self, records: &[ProductRecord]) {
        for record in records {
            for identifier in record.identifiers.iter().filter(|i| !i.check_digit_right) {
                self.sums.warnings += 1;
                if self.sums.warnings <= SHOWN {
                    self.progress.say(&format!(
                        "line {}: the check digit of {} does not fit; kept as printed",
                        record.line, identifier.code
                    ));
                }
            }
        }
    }
}

/// Warnings that are shown; all are counted.
const SHOWN: u64 = 20;

#[derive(Default)]
struct Sums {
    read: u64,
    added: u32,
    changed: u32,
    unchanged: u32,
    skipped: Vec<(u64, String)>,
    warnings: u64,
}

impl Sums {
    fn summary(&self, as_json: bool) -> String {
        let skipped = self.skipped.len();
        if as_json {
            let list: Vec<_> = self
                .skipped
                .iter()
                .map(|(line, problem)| json!({"line": line, "problem": problem}))
                .collect();
            let summary = json!({
                "read": self.read,
                "added": self.added,
                "changed": self.changed,
                "unchanged": self.unchanged,
                "skipped": skipped,
                "warnings": self.warnings,
                "skipped_records": list,
            });
            return format!("{summary}\n");
        }
        format!(
            "{} records read: {} products added, {} changed, {} unchanged; {skipped} skipped; {} wrong check digits\n",
            self.read, self.added, self.changed, self.unchanged, self.warnings
        )
    }
}
