//! `lotwarden ledger`

mod export;
mod head;
mod verify;

use std::path::PathBuf;
use std::process::ExitCode;

use super::opened::Opened;
use crate::settings::Settings;

/// Verifies the ledger, exports a parcel of it, shows its head.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden ledger verify
  lotwarden ledger verify --facility \"Harbour Street Endoscopy\" --json
  lotwarden ledger export parcel.txt --reason \"Inspection of 24 November\"
  lotwarden-verify parcel parcel.txt
  lotwarden ledger head

`verify` ends with 1 when an entry does not fit and names the first one. Keep
heads elsewhere: a chain alone does not show that its end was cut.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
    /// Facility; needed where there are several (`verify` takes all of them)
    #[arg(long, global = true)]
    facility: Option<String>,
}

#[derive(clap::Subcommand)]
enum What {
    /// Check every entry: its link, its hash, its columns, and the head
    Verify {
        /// For programs
        #[arg(long)]
        json: bool,
    },
    /// Write the whole ledger into one file that verifies without the service
    Export {
        /// The file; there must be none of that name
        file: PathBuf,
        /// Why; stands in the ledger
        #[arg(long, value_parser = reason)]
        reason: String,
        /// Disclose patients' identities and the characters of unread scans
        #[arg(long)]
        with_identity: bool,
    },
    /// Show the newest state
    Head {
        /// For programs
        #[arg(long)]
        json: bool,
    },
}

/// Does it.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    let facility = args.facility.as_deref();
    match args.what {
        What::Verify { json } => verify::run(&opened, facility, json),
        What::Export {
            file,
            reason,
            with_identity,
        } => export::run(&opened, facility, &file, reason, with_identity),
        What::Head { json } => head::run(&opened, facility, json),
    }
}

fn reason(text: &str) -> Result<String, &'static str> {
    let fits = (3..=500).contains(&text.chars().count()) && !text.chars().any(char::is_control);
    fits.then(|| text.to_owned())
        .ok_or("3 to 500 characters, without control characters")
}
