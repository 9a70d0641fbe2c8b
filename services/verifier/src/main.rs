//! `lotwarden-verify`: checks a parcel offline, without a network and without a database.
mod parcel;

use std::{path::PathBuf, process::ExitCode};

use clap::{Parser, Subcommand};

/// Checks files that lotwarden exports, offline.
#[derive(Parser)]
#[command(version, about, after_help = AFTER_HELP)]
struct Arguments {
    #[command(subcommand)]
    command: Command,
}

#[derive(Subcommand)]
enum Command {
    /// Check a parcel: every entry, its attachments and its disclosures
    #[command(after_help = AFTER_HELP)]
    Parcel {
        /// The parcel; `-` reads standard input
        file: PathBuf,
        /// Print one JSON object instead of sentences
        #[arg(long)]
        json: bool,
    },
}

const AFTER_HELP: &str = "\
Examples:
  lotwarden-verify parcel facility.parcel
  lotwarden-verify parcel --json facility.parcel
  zcat facility.parcel.gz | lotwarden-verify parcel -

Exit status: 0 valid; 1 not valid, the first entry that does not fit is named; 2 the file cannot be
read or is not a parcel.";

fn main() -> ExitCode {
    match Arguments::parse().command {
        Command::Parcel { file, json } => parcel::check(&file, json),
    }
}
