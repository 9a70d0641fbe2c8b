//! `lotwarden notices import`

use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use lotwarden_domain::access::{Grant, act};
use lotwarden_domain::import::{self, NoticeRecord};
use lotwarden_store::notices::{ImportNotices, ImportedNotices, MOST_NOTICES, MOST_TEXT};
use lotwarden_store::{Recorder, Rendered, Request};
use serde_json::json;

use super::super::files::{Batch, Progress, Source, in_batches};
use super::super::opened::Opened;
use super::super::print;
use crate::settings::Settings;

/// Takes in recall records as unconfirmed notices.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden notices import device-enforcement-0001-of-0001.json.gz
  lotwarden notices import drug_enforcement.json --facility \"Harbour Street Endoscopy\"

The file holds FDA enforcement records as openFDA publishes them, device or drug:
an answer or bulk file, an array, one record, or one record a line, compressed
with gzip or not. Each record becomes a notice that nobody has confirmed: it stops
nothing. A record that is on record as it stands changes nothing; one that says
something else is an update under the first. A record with a fault is skipped and
listed. In the catalogue are the notices in which a code of a product of this
site was found; the others may name one in words.")]
pub struct Args {
    /// The file; it may be compressed with gzip
    file: PathBuf,
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
    /// Print the summary as one JSON object
    #[arg(long)]
    json: bool,
}

/// Imports.
pub fn run(args: &Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let source = Source::open(&args.file)?;
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let grant = opened.grant::<act::AddNotice>(&facility)?;
    let mut import = Import {
        recorder: &opened.recorder,
        grant,
        file_sha256: source.sha256.clone(),
        progress: Progress::start(&source),
        sums: Sums::default(),
    };
    let ended = in_batches(
        &opened.runtime,
        &args.file,
        MOST_NOTICES,
        move |take| import::read_notices(source.reader, take),
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
    grant: Grant<act::AddNotice>,
    file_sha256: String,
    progress: Progress,
    sums: Sums,
}

impl Import<'_> {
    async fn take(&mut self, batch: Batch<NoticeRecord>) -> anyhow::Result<()> {
        let count = batch.len() as u64;
        let mut records = Vec::with_capacity(batch.len());
        for record in batch {
            self.sums.read += 1;
            match record {
                Ok(record) if unfit(&record) => {
                    let what = format!("codes: must be at most {MOST_TEXT} characters of text");
                    self.skip(record.line, what);
                }
                Ok(record) => records.push(record),
                Err(fault) => {
                    let what = format!("{}: {}", fault.field, fault.problem);
                    self.skip(fault.line, what);
                }
            }
        }
        if !records.is_empty() {
            self.record(records).await?;
        }
        self.progress.advance(count);
        Ok(())
    }

    async fn record(&mut self, records: Vec<NoticeRecord>) -> anyhow::Result<()> {
        let first = records.first().map_or(0, |record| record.line);
        let operation = ImportNotices {
            records,
            file_sha256: self.file_sha256.clone(),
        };
        let rendered = |outcome: &ImportedNotices, _| Rendered {
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
        let outcome: ImportedNotices = serde_json::from_slice(&answer.rendered.body)?;
        let sums = &mut self.sums;
        sums.added += outcome.added;
        sums.updated += outcome.updated;
        sums.unchanged += outcome.unchanged;
        sums.in_catalogue += outcome.in_catalogue;
        Ok(())
    }

    fn skip(&mut self, line: u64, what: String) {
        self.progress.say(&format!("line {line} skipped: {what}"));
        self.sums.skipped.push((line, what));
    }
}

/// PostgreSQL keeps no NUL in a text.
fn unfit(record: &NoticeRecord) -> bool {
    record.codes.chars().count() > MOST_TEXT || record.codes.contains('\0')
}

#[derive(Default)]
struct Sums {
    read: u64,
    added: usize,
    updated: usize,
    unchanged: usize,
    in_catalogue: i64,
    skipped: Vec<(u64, String)>,
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
                "updated": self.updated,
                "unchanged": self.unchanged,
                "in_catalogue": self.in_catalogue,
                "skipped": skipped,
                "skipped_records": list,
            });
            return format!("{summary}\n");
        }
        format!(
            "{} records read: {} notices added, {} updates, {} unchanged; {} name products of the catalogue; {skipped} skipped\n",
            self.read, self.added, self.updated, self.unchanged, self.in_catalogue
        )
    }
}
