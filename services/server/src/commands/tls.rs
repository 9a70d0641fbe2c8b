//! `lotwarden tls`

use std::process::ExitCode;

use lotwarden_domain::{Clock, SystemClock};

use super::{print, say};
use crate::settings::{Settings, ensure_data_dir};
use crate::tls::{self, Facts};

/// Makes the certificate that the service shows, from a private authority of its own.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden tls make --name lotwarden.clinic.example --name 10.0.4.7
  lotwarden tls make        make it anew, for the names it had

Everything is kept in tls/ in the data directory, keys open to the service
alone. Stations have to trust tls/authority.pem once: install it there as an
authority for web sites. The service makes the certificate anew 30 days before
its end, and shows a new one within ten seconds. The authority is good for ten
years; `lotwarden status` says when its last year begins. To have another one,
move authority.key away and make the certificate again. Keep authority.key as
you keep master.key: who has it can pretend to be any site to these stations.")]
pub struct Args {
    #[command(subcommand)]
    what: What,
}

#[derive(clap::Subcommand)]
enum What {
    /// Make the certificate, and the authority where there is none
    Make {
        /// Host name or address that stations reach the service by; repeat it for several
        #[arg(long = "name", value_name = "HOST")]
        names: Vec<String>,
    },
}

/// Makes it and says what stations have to trust.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let What::Make { names } = args.what;
    ensure_data_dir(&settings.data_dir)?;
    let made = tls::make(&settings.data_dir, &names, SystemClock.now())?;
    let authority = made.authority.display();
    let first = if made.authority_made {
        format!(
            "authority made: {authority}\n  install it at every station as an authority for web sites\n"
        )
    } else {
        format!("authority as before: {authority}\n")
    };
    let root = Facts::of(&made.authority)?;
    print(&format!(
        "{first}  good through {}\ncertificate for {}, through {}\n",
        root.last_day(),
        made.names.join(", "),
        made.ends_on
    ))?;
    if let Some(warning) = tls::ends_soon(&root, SystemClock.now()) {
        say(&warning);
    }
    Ok(ExitCode::SUCCESS)
}
