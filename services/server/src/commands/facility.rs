//! `lotwarden facility`

use std::process::ExitCode;

use lotwarden_store::facilities;
use serde_json::json;

use super::opened::Opened;
use super::{print, say};
use crate::settings::Settings;

/// Adds facilities and lists them.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden facility add --name \"Harbour Street Endoscopy\" --zone Europe/Dublin
  lotwarden facility list --json")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Add a facility with a ledger of its own
    Add {
        /// Its name, one of a kind
        #[arg(long)]
        name: String,
        /// Its time zone by the IANA name; decides on which day an item expires
        #[arg(long)]
        zone: String,
    },
    /// List the facilities
    List {
        /// For programs
        #[arg(long)]
        json: bool,
    },
}

/// Adds or lists.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    match args.what {
        What::Add { name, zone } => {
            let now = opened.recorder.clock().now();
            let owner = opened.access.owner_url.expose();
            let added = facilities::add(owner, opened.recorder.master(), &name, &zone, now);
            let id = opened.runtime.block_on(added)?;
            say(&format!("added {name} ({id}); its ledger is empty"));
            say("next: `lotwarden people add --role administrator ...`");
        }
        What::List { json } => {
            let all = opened
                .runtime
                .block_on(facilities::list(opened.recorder.database()))?;
            for facility in all {
                let zone = facility.zone.iana_name().unwrap_or_default();
                print(&if json {
                    format!(
                        "{}\n",
                        json!({"id": facility.id, "name": facility.name, "zone": zone})
                    )
                } else {
                    format!("{}  {zone}  {}\n", facility.id, facility.name)
                })?;
            }
        }
    }
    Ok(ExitCode::SUCCESS)
}
