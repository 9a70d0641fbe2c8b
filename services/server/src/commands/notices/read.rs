//! `lotwarden notices read`

use std::io;
use std::process::ExitCode;

use anyhow::Context as _;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lotwarden_domain::{Clock, SystemClock, notices};

/// Reads the codes of a recall notice and prints what they name as JSON.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  echo 'Lot # 8D1082, Exp 01/13; 8D1151, Exp 03/13' | lotwarden notices read
  lotwarden notices read --date 2013-06-01 < code_info.txt

The whole input is one text, or a workbook (XLSX). Each proposal names lots, serials, ranges, product
identifiers and catalogue numbers as printed, the expiry the lots share, and
whether it says all; spans are characters of the text, from 0, and for a table of
cells its row and column, from 1. What was not
understood is in unread: it may name more. Nothing is recorded; a person
confirms what counts.")]
pub struct Args {
    /// The day of the reading, which settles two-digit years [default: today]
    #[arg(long, value_name = "YYYY-MM-DD")]
    date: Option<Date>,
}

/// Reads standard input to its end.
pub fn run(args: &Args) -> anyhow::Result<ExitCode> {
    let today = || SystemClock.now().to_zoned(TimeZone::system()).date();
    let text = super::text_of(io::stdin()).context("standard input cannot be read")?;
    notices::check_table(&text).context("the table on standard input is not read")?;
    let reading = notices::read(&text, args.date.unwrap_or_else(today));
    let mut answer = serde_json::to_string(&reading)?;
    answer.push('\n');
    super::super::print(&answer)?;
    Ok(ExitCode::SUCCESS)
}
