//! `lotwarden notices add`

use std::fs::File;
use std::path::PathBuf;
use std::process::ExitCode;

use anyhow::Context;
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::{self, NoticeSource};
use lotwarden_store::notices::{AddNotice, MOST_TEXT, NewNotice};
use lotwarden_store::{Rendered, Request};
use serde_json::json;

use super::super::opened::Opened;
use super::super::print;
use crate::settings::Settings;

/// Takes in one notice that a person has to confirm.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden notices add lots.csv --firm \"Saltwick Remedies\" --reference FSN-2026-014
  lotwarden notices add lots.xlsx --firm \"Saltwick Remedies\" --reference FSN-2026-015
  lotwarden notices add letter.txt --firm \"Saltwick Remedies\" --reference FSN-7 --class II

The file holds the notice's text, or a table: a line of column names and a row for
each lot, with commas, semicolons or tabs between the cells, or as a workbook (XLSX)
with one sheet. Columns are known by
their names: identifier, catalogue number, lot, serial, lot from, lot to, expiry and
what people commonly write for these. What was read is printed with row and column;
it stops nothing before a person has confirmed it.")]
pub struct Args {
    /// The file: UTF-8 text, or XLSX
    file: PathBuf,
    /// Who recalls
    #[arg(long)]
    firm: String,
    /// The firm's or the authority's reference number
    #[arg(long)]
    reference: String,
    /// How grave it is: I, II or III
    #[arg(long)]
    class: Option<RecallClass>,
    /// How it came: letter, mail, telephone, distributor or feed
    #[arg(long, default_value = "mail")]
    source: NoticeSource,
    /// The day it came [default: today]
    #[arg(long, value_name = "YYYY-MM-DD")]
    received_on: Option<Date>,
    /// The product in the notice's words
    #[arg(long, default_value = "")]
    product: String,
    /// Why it was sent
    #[arg(long, default_value = "")]
    reason: String,
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
}

/// Takes it in and prints what was read.
pub fn run(args: &Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let text = read(&args.file)?;
    let within = |what: &str, text: &str, least, most| {
        let fits = (least..=most).contains(&text.chars().count());
        anyhow::ensure!(fits, "--{what} must have {least} to {most} characters");
        anyhow::ensure!(!text.contains('\0'), "--{what} must not hold a NUL");
        Ok(())
    };
    within("firm", args.firm.trim(), 1, 500)?;
    within("reference", args.reference.trim(), 1, 100)?;
    within("product", &args.product, 0, 5_000)?;
    within("reason", &args.reason, 0, 5_000)?;
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let grant = opened.grant::<act::AddNotice>(&facility)?;
    let operation = AddNotice {
        notice: NewNotice {
            firm: args.firm.trim().to_owned(),
            reference: args.reference.trim().to_owned(),
            class: args.class,
            source: args.source,
            status: None,
            received_on: args.received_on,
            product: args.product.clone(),
            reason: args.reason.clone(),
            text: text.clone(),
            also_named: Vec::new(),
        },
        follows: None,
    };
    let recorded =
        opened
            .recorder
            .record(&grant, Request::default(), operation, move |notice, _| {
                Rendered {
                    status: 200,
                    body: json!({
                        "id": notice.id, "reading": notices::read(&text, notice.received_on),
                    })
                    .to_string()
                    .into_bytes(),
                    etag: None,
                }
            });
    let answer = opened.runtime.block_on(recorded);
    let answer = answer.context("the notice was not taken in")?;
    print(&format!("{}\n", String::from_utf8(answer.rendered.body)?))?;
    Ok(ExitCode::SUCCESS)
}

/// The text of a file, bounded.
fn read(path: &PathBuf) -> anyhow::Result<String> {
    let shown = path.display();
    let file = File::open(path).with_context(|| format!("{shown} cannot be opened"))?;
    let text = super::text_of(file).with_context(|| format!("{shown} cannot be taken in"))?;
    let fits = text.chars().count() <= MOST_TEXT && !text.contains('\0');
    anyhow::ensure!(
        fits,
        "{shown} has more than {MOST_TEXT} characters, or a NUL"
    );
    notices::check_table(&text).with_context(|| format!("{shown} cannot be taken in"))?;
    Ok(text)
}
