//! `lotwarden stop`

use std::path::Path;
use std::process::ExitCode;
use std::thread::sleep;
use std::time::{Duration, Instant};

use rustix::process::{Pid, Signal, kill_process};

use super::say;
use super::serve::pid_file::{self, Running};
use crate::cluster::Cluster;
use crate::settings::Settings;

/// Longest wait for requests under way and, where the service stops it, its PostgreSQL.
const LONGEST_STOP: Duration = Duration::from_secs(180);

/// Stops the service of a data directory, then its private PostgreSQL.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden stop
  lotwarden stop --data-dir /srv/second
  lotwarden stop --keep-database")]
pub struct Args {
    /// Leave the private PostgreSQL running
    #[arg(long)]
    keep_database: bool,
}

/// The service did not end in time.
#[derive(Debug, thiserror::Error)]
#[error("process {process} was asked to stop but is still running after {} s", LONGEST_STOP.as_secs())]
struct StillRunning {
    process: u32,
}

/// The process that holds the data directory is some other program.
#[derive(Debug, thiserror::Error)]
#[error(
    "process {process} holds the data directory but is not `lotwarden serve`; it is left alone"
)]
struct OtherProgram {
    process: u32,
}

/// Stops what runs; nothing running is fine.
pub fn run(args: Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    match pid_file::running(&settings.data_dir)? {
        Some(running) => stop_service(&settings.data_dir, running)?,
        None => say(&format!(
            "no service is running on {}",
            settings.data_dir.display()
        )),
    }
    if settings.database_url.is_none() && !args.keep_database {
        let stopped = Cluster::stop(settings, &say)?;
        say(if stopped {
            "the private PostgreSQL is stopped"
        } else {
            "the private PostgreSQL is not running"
        });
    }
    Ok(ExitCode::SUCCESS)
}

fn stop_service(data_dir: &Path, running: Running) -> anyhow::Result<()> {
    let Running { process, .. } = running;
    if !is_service(process) {
        return Err(OtherProgram { process }.into());
    }
    say(&format!("stopping the service (process {process})"));
    let number = i32::try_from(process).ok().and_then(Pid::from_raw);
    kill_process(number.ok_or(OtherProgram { process })?, Signal::TERM)?;
    let begun = Instant::now();
    let mut said = 0;
    while pid_file::running(data_dir)?.is_some_and(|now| now.process == process) {
        let seconds = begun.elapsed().as_secs();
        if begun.elapsed() > LONGEST_STOP {
            return Err(StillRunning { process }.into());
        }
        if seconds >= said + 5 {
            said = seconds;
            say(&format!("waiting for requests under way, {seconds} s"));
        }
        sleep(Duration::from_millis(50));
    }
    say("the service is stopped");
    Ok(())
}

/// Whether the process was started as `lotwarden ... serve ...`.
fn is_service(process: u32) -> bool {
    let Ok(words) = std::fs::read(format!("/proc/{process}/cmdline")) else {
        return false;
    };
    let mut words = words.split(|byte| *byte == 0);
    words
        .next()
        .is_some_and(|program| program.ends_with(b"lotwarden"))
        && words.any(|word| word == b"serve")
}
