//! The commands: one file each, with its `Args` and its `run`.

mod catalogue;
mod cluster;
mod compute;
mod demo;
mod facility;
mod files;
mod keys;
mod labels;
mod ledger;
mod migrate;
mod notices;
mod opened;
mod outbox;
mod people;
mod read;
mod serve;
mod settings;
mod station;
mod status;
mod stop;
mod tls;
mod where_used;

use std::io::{self, Write};
use std::process::ExitCode;

use crate::settings::{Environment, Flags, Settings};

/// What the person asked for.
#[derive(clap::Subcommand)]
pub enum Command {
    /// Run the service until it is told to stop
    Serve(serve::Args),
    /// Stop the service and its private PostgreSQL
    Stop(stop::Args),
    /// Say whether the service and its private PostgreSQL are running
    Status(status::Args),
    /// Bring the database to this version's schema
    Migrate(migrate::Args),
    /// Add facilities and list them
    Facility(facility::Args),
    /// Add people and list them
    People(people::Args),
    /// Take product records in from a file
    Catalogue(catalogue::Args),
    /// Find the cases, patients and places an item reached
    WhereUsed(where_used::Args),
    /// Replace the master key
    Keys(keys::Args),
    /// Make the certificate that the service shows, with an authority of its own
    Tls(tls::Args),
    /// Verify the ledger, export a parcel of it, show its head
    Ledger(ledger::Args),
    /// Load the demonstration facility, and play a day there
    Demo(demo::Args),
    /// Read what recall notices name, and take in recall records
    Notices(notices::Args),
    /// Hand the outbox's mail to a mail system
    Outbox(outbox::Args),
    /// Read labels from standard input, one a line
    Read(read::Args),
    /// Compute from a JSON object on standard input: gas, mixes, due days, checks, retention
    Compute(compute::Args),
    /// Write labels with GS1 symbols
    Labels(labels::Args),
    /// Write a station's test page, and check what the station made of it
    Station(station::Args),
    /// Print every setting with its value, origin and meaning
    Settings(settings::Args),
    /// Start, stop and reach the private PostgreSQL by itself
    Cluster(cluster::Args),
}

impl Command {
    /// Does it; only the commands of a service or its data directory resolve settings, so that
    /// the others work for an account without a home.
    ///
    /// # Errors
    /// Whatever kept the command from being done, with its causes.
    pub fn run(self, flags: &Flags, environment: Environment<'_>) -> anyhow::Result<ExitCode> {
        let settings = || Settings::resolve(flags, environment);
        match self {
            Self::Serve(args) => serve::run(args, &settings()?),
            Self::Stop(args) => stop::run(args, &settings()?),
            Self::Status(args) => status::run(args, &settings()?),
            Self::Migrate(args) => migrate::run(args, &settings()?),
            Self::Facility(args) => facility::run(args, &settings()?),
            Self::People(args) => people::run(args, &settings()?),
            Self::Catalogue(args) => catalogue::run(args, &settings()?),
            Self::WhereUsed(args) => where_used::run(args, &settings()?),
            Self::Keys(args) => keys::run(args, &settings()?),
            Self::Tls(args) => tls::run(args, &settings()?),
            Self::Ledger(args) => ledger::run(args, &settings()?),
            Self::Demo(args) => demo::run(args, &settings()?),
            Self::Notices(args) => notices::run(args, || Ok(settings()?)),
            Self::Outbox(args) => outbox::run(&args, &settings()?),
            Self::Read(args) => read::run(args),
            Self::Compute(args) => compute::run(args),
            Self::Labels(args) => labels::run(args),
            Self::Station(args) => station::run(args),
            Self::Settings(args) => settings::run(args, flags, environment),
            Self::Cluster(args) => cluster::run(args, &settings()?),
        }
    }
}

/// Says on standard error what a long step is doing; standard output stays for results.
fn say(line: &str) {
    eprintln!("lotwarden: {line}");
}

/// Prints a result on standard output; a reader that has enough is no failure.
fn print(text: &str) -> io::Result<()> {
    match io::stdout().lock().write_all(text.as_bytes()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}
