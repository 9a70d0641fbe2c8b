//! `lotwarden notices`

mod add;
mod import;
mod mock;
mod read;

use std::process::ExitCode;

use crate::settings::Settings;

/// Works with recall notices.
#[derive(clap::Args)]
pub struct Args {
    #[command(subcommand)]
    command: Command,
}

#[derive(clap::Subcommand)]
enum Command {
    /// Propose criteria from a notice's text on standard input
    Read(read::Args),
    /// Take in one notice from a file: its text, or a table of cells
    Add(add::Args),
    /// Take in an authority's recall records as unconfirmed notices
    Import(import::Args),
    /// Rehearse a recall of a lot drawn at random
    Mock(mock::Args),
}

/// Does what was asked; reading a text needs no data directory, so it asks for no settings.
pub fn run(
    args: Args,
    settings: impl FnOnce() -> anyhow::Result<Settings>,
) -> anyhow::Result<ExitCode> {
    match args.command {
        Command::Read(args) => read::run(&args),
        Command::Add(args) => add::run(&args, &settings()?),
        Command::Import(args) => import::run(&args, &settings()?),
        Command::Mock(args) => mock::run(&args, &settings()?),
    }
}
