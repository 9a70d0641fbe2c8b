//! `lotwarden notices`

mod read;

use std::process::ExitCode;

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
}

/// Does what was asked.
pub fn run(args: Args) -> anyhow::Result<ExitCode> {
    match args.command {
        Command::Read(args) => read::run(&args),
    }
}
