//! `lotwarden status`

use std::path::PathBuf;
use std::process::ExitCode;
use std::thread::sleep;
use std::time::{Duration, Instant};

use lotwarden_domain::{Clock, SystemClock};
use reqwest::StatusCode;
use serde_json::json;

use super::serve::pid_file::{self, Address};
use super::{print, say};
use crate::cluster::Cluster;
use crate::settings::Settings;
use crate::tls::{self, Facts};

/// Says whether the service and its private PostgreSQL are running.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden status
  lotwarden status --json
  lotwarden status --wait 60    wait until the service is ready

Ends with 0 when the service is ready, 3 when it is not.")]
pub struct Args {
    /// Wait this many seconds for the service to be ready
    #[arg(long, value_name = "SECONDS", default_value_t = 0)]
    wait: u64,
    /// Print one JSON object
    #[arg(long)]
    json: bool,
}

/// Prints what runs.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let begun = Instant::now();
    let mut said = 0;
    let (running, ready) = loop {
        let running = pid_file::running(&settings.data_dir)?;
        let address = running.and_then(|running| running.address);
        let ready =
            address.is_some_and(|address| answers_ready(settings, address).unwrap_or(false));
        let seconds = begun.elapsed().as_secs();
        if ready || seconds >= args.wait {
            break (running, ready);
        }
        if seconds >= said + 5 {
            said = seconds;
            say(&format!("waiting for the service, {seconds} s"));
        }
        sleep(Duration::from_millis(100));
    };
    let database = match settings.database_url {
        Some(_) => None,
        None => Some(Cluster::is_running(settings)?),
    };
    let address = running.and_then(|running| running.address);
    // Whoever may not read the files is told of everything else.
    let facts = |file: PathBuf| Facts::of(&file).ok();
    let certificate = tls::files(settings).and_then(|files| facts(files.certificate));
    let authority = tls::authority(&settings.data_dir).filter(|_| settings.tls.is_none());
    let authority = authority.and_then(facts);
    let end = |facts: &Option<Facts>| facts.as_ref().map(|facts| facts.ends_at.to_string());
    if args.json {
        let document = json!({
            "process": running.map(|running| running.process),
            "address": address.map(|address| address.to_string()),
            "ready": ready,
            "private_postgresql": database,
            "certificate_ends_at": end(&certificate),
            "authority_ends_at": end(&authority),
            "data_dir": settings.data_dir,
        });
        print(&format!("{document}\n"))?;
    } else {
        let shown = certificate.as_ref().map(|facts| {
            let (names, last) = (facts.names.join(", "), facts.last_day());
            format!("certificate: for {names}, through {last}\n")
        });
        let service = match (running, address) {
            (Some(running), Some(address)) => {
                let how = if ready { "ready" } else { "not ready" };
                format!("{address}, {how} (process {})", running.process)
            }
            (Some(running), None) => format!("starting (process {})", running.process),
            (None, _) => "not running".to_owned(),
        };
        let database = match database {
            Some(true) => "running",
            Some(false) => "not running",
            None => "none, a database URL is set",
        };
        let data_dir = settings.data_dir.display();
        print(&format!(
            "service: {service}\nprivate PostgreSQL: {database}\n{}data directory: {data_dir}\n",
            shown.unwrap_or_default()
        ))?;
    }
    let now = SystemClock.now();
    if let Some(warning) = authority.and_then(|authority| tls::ends_soon(&authority, now)) {
        say(&warning);
    }
    Ok(if ready {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(3)
    })
}

/// Asks `/readyz`; over TLS it must be the service that has this data directory's certificate.
fn answers_ready(settings: &Settings, address: Address) -> anyhow::Result<bool> {
    let http = tls::client(tls::Trust::OfSettings(settings))?
        .timeout(Duration::from_secs(5))
        .build()?;
    let answer = http.get(format!("{}/readyz", address.here())).send()?;
    Ok(answer.status() == StatusCode::OK)
}
