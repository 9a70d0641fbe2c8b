//! `lotwarden status`

use std::io::{self, Read, Write};
use std::net::{IpAddr, Ipv4Addr, Ipv6Addr, SocketAddr, TcpStream};
use std::process::ExitCode;
use std::thread::sleep;
use std::time::{Duration, Instant};

use serde_json::json;

use super::serve::pid_file;
use super::{print, say};
use crate::cluster::Cluster;
use crate::settings::Settings;

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
        let ready = address.is_some_and(|address| answers_ready(address).unwrap_or(false));
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
    if args.json {
        let document = json!({
            "process": running.map(|running| running.process),
            "address": address.map(|address| format!("http://{address}")),
            "ready": ready,
            "private_postgresql": database,
            "data_dir": settings.data_dir,
        });
        print(&format!("{document}\n"))?;
    } else {
        let service = match (running, address) {
            (Some(running), Some(address)) => {
                let how = if ready { "ready" } else { "not ready" };
                format!("http://{address}, {how} (process {})", running.process)
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
            "service: {service}\nprivate PostgreSQL: {database}\ndata directory: {data_dir}\n"
        ))?;
    }
    Ok(if ready {
        ExitCode::SUCCESS
    } else {
        ExitCode::from(3)
    })
}

/// Asks `/readyz`; a service that listens on every address is asked on this machine's own.
fn answers_ready(address: SocketAddr) -> io::Result<bool> {
    let own = match address.ip() {
        IpAddr::V4(ip) if ip.is_unspecified() => Ipv4Addr::LOCALHOST.into(),
        IpAddr::V6(ip) if ip.is_unspecified() => Ipv6Addr::LOCALHOST.into(),
        ip => ip,
    };
    let patience = Duration::from_secs(5);
    let mut stream = TcpStream::connect_timeout(&(own, address.port()).into(), patience)?;
    stream.set_read_timeout(Some(patience))?;
    stream.write_all(b"GET /readyz HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n")?;
    let mut status = [0; 12];
    stream.read_exact(&mut status)?;
    Ok(&status == b"HTTP/1.1 200")
}
