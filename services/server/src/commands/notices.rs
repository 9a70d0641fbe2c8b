//! `lotwarden notices`

mod add;
mod import;
mod mock;
mod read;

use std::io::Read;
use std::process::ExitCode;

use anyhow::Context;
use lotwarden_domain::notices::{is_workbook, workbook_text};

use crate::settings::Settings;

/// Works with recall notices.
#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(clap::Subcommand)]
enum Command {
    /// Propose criteria from a notice's text on standard input
    Read(read::Args),
    /// Take in one notice from a file: its text, or a table of cells
    Add(add::Args),
    /// Take in an authority's recall records as unconfirmed notices
    Import(import::Args),
    /// Rehearse a recall of a lot drawn at random
    Mock(mock::Args),
}

/// Does what was asked; reading a text needs no data directory, so it asks for no settings.
pub fn run(
    args: Args,
    settings: impl FnOnce() -> anyhow::Result<Settings>,
) -> anyhow::Result<ExitCode> {
    match args.command {
        Command::Read(args) => read::run(&args),
        Command::Add(args) => add::run(&args, &settings()?),
        Command::Import(args) => import::run(&args, &settings()?),
        Command::Mock(args) => mock::run(&args, &settings()?),
    }
}

/// The longest input taken, in bytes; the longest code list of FDA's records is far below.
const LONGEST: u64 = 16 * 1024 * 1024;

/// A notice's text: of UTF-8, or the cells of a workbook as a table.
fn text_of(input: impl Read) -> anyhow::Result<String> {
    let mut bytes = Vec::new();
    input.take(LONGEST + 1).read_to_end(&mut bytes)?;
    anyhow::ensure!(
        bytes.len() as u64 <= LONGEST,
        "it is longer than 16 MiB; give one notice at a time"
    );
    if is_workbook(&bytes) {
        return Ok(workbook_text(&bytes, LONGEST as usize)?);
    }
    String::from_utf8(bytes).context("it is neither UTF-8 text nor a workbook (XLSX)")
}
