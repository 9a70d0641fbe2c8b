//! `lotwarden demo`

mod clock;
mod day;
mod labels;
mod load;
mod patients;
mod products;
mod staff;

use std::path::PathBuf;
use std::process::ExitCode;

use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::Verdict;
use serde_json::json;

use super::{print, say};
use crate::settings::Settings;
use load::Loaded;

/// The demonstration facility's name.
const FACILITY: &str = "Quillback Lane Vein Rooms (demonstration)";
/// Its time zone.
const ZONE: &str = "America/Chicago";

/// Loads an invented facility with three months of past, and plays a day there.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden demo load
  lotwarden demo load --json
  lotwarden demo day
  lotwarden demo day --documents
  lotwarden demo recall
  lotwarden demo day --url http://127.0.0.1:8481 --json

People, patients, makers and identifiers are invented; their identifiers are of
GS1's and HIBC's ranges for examples. Passwords are made at random at load and
kept in demo-people.json in the data directory. `day` and `recall` end with 1 when
a step does not come out as expected; they can be played any number of times.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Make the demonstration facility, or print its people again
    Load {
        /// For programs
        #[arg(long)]
        json: bool,
    },
    /// Play one recall notice from its letter to its close
    Recall(Played),
    /// Play one day against the running service, step by step
    Day {
        #[command(flatten)]
        played: Played,
        /// Write the documents of the third case into demo-documents in the data directory
        #[arg(long)]
        documents: bool,
    },
}

/// Against which service, and how it is told.
#[derive(clap::Args)]
struct Played {
    /// The service's address [default: the one of this data directory]
    #[arg(long)]
    url: Option<String>,
    /// Certificate (PEM) of the authority that the service's own is from
    /// [default: exactly the certificate of this data directory is trusted]
    #[arg(long, value_name = "FILE", requires = "url")]
    authority: Option<PathBuf>,
    /// One JSON object a step
    #[arg(long)]
    json: bool,
}

/// Loads or plays.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    match args.what {
        What::Load { json } => {
            let loaded = load::load(settings)?;
            show(settings, &loaded, json)?;
            Ok(ExitCode::SUCCESS)
        }
        What::Day { played, documents } => day::run(settings, &played, documents),
        What::Recall(played) => day::run_recall(settings, &played),
    }
}

/// The civil day of an instant at the demonstration facility.
fn day_of(at: Timestamp) -> anyhow::Result<Date> {
    Ok(at.in_tz(ZONE)?.date())
}

/// Prints who can sign in, and what was recorded.
fn show(settings: &Settings, loaded: &Loaded, json: bool) -> anyhow::Result<()> {
    let Loaded { accounts, history } = loaded;
    let file = staff::file(&settings.data_dir);
    if json {
        let mut document = staff::document(FACILITY, accounts);
        document["file"] = json!(file);
        document["loaded"] = json!(history.is_some());
        print(&format!("{document}\n"))?;
        return Ok(());
    }
    match history {
        None => say(&format!("{FACILITY} is there already; nothing was changed")),
        Some(told) => {
            let verdicts = Verdict::ALL.iter().map(|verdict| {
                let count = told.scans.get(verdict).copied().unwrap_or_default();
                format!("{count} {verdict}")
            });
            let verdicts: Vec<String> = verdicts.collect();
            say(&format!(
                "{FACILITY}: {} cases, {} signatures, scans: {}",
                told.cases,
                told.signatures,
                verdicts.join(", ")
            ));
        }
    }
    let mut text = format!("{FACILITY}\n  {:<16} {:<15} password\n", "login", "role");
    for one in accounts {
        text.push_str(&format!(
            "  {:<16} {:<15} {}\n",
            one.login, one.role, one.password
        ));
    }
    text.push_str(&format!("  (also in {})\n", file.display()));
    print(&text)?;
    Ok(())
}
