//! `lotwarden cluster`

use std::process::ExitCode;

use super::{print, say};
use crate::cluster::Cluster;
use crate::settings::Settings;

/// Starts, stops and reaches the private PostgreSQL by itself.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden cluster start
  psql \"$(lotwarden cluster url)\"
  lotwarden cluster start --data-dir /tmp/tests
  LOTWARDEN_TEST_CLUSTER=$(lotwarden cluster url --superuser --data-dir /tmp/tests)
  lotwarden cluster stop --data-dir /tmp/tests")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Make the cluster where it is missing, and start it
    Start,
    /// Stop it; open transactions are rolled back
    Stop,
    /// Print a connection string with its password
    Url {
        /// The superuser's, in the database `postgres`
        #[arg(long, conflicts_with = "owner")]
        superuser: bool,
        /// The migrating login's, which may SET ROLE lotwarden_owner
        #[arg(long)]
        owner: bool,
    },
}

/// Does it.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    match args.what {
        What::Start => {
            let access = Cluster::ensure_running(settings, &say)?;
            let how = if access.started_here {
                "started"
            } else {
                "was running already"
            };
            say(&format!("the database {how}: {}", access.service_url));
        }
        What::Stop => {
            if !Cluster::stop(settings, &say)? {
                say("the private PostgreSQL was not running");
            }
        }
        What::Url { superuser, owner } => {
            let access = Cluster::ensure_running(settings, &say)?;
            let url = if superuser {
                Cluster::superuser_url(settings)?
            } else if owner {
                access.owner_url
            } else {
                access.service_url
            };
            print(&format!("{}\n", url.expose()))?;
        }
    }
    Ok(ExitCode::SUCCESS)
}
