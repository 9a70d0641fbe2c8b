//! The binary `lotwarden`: settings, the private PostgreSQL and every command.

mod cluster;
mod commands;
mod settings;
mod tls;

use std::process::ExitCode;

use clap::Parser;

use commands::Command;
use settings::Flags;

/// Records what is used on patients in procedure rooms, and what becomes of it.
///
/// The service records and computes; it does not advise.
#[derive(Parser)]
#[command(name = "lotwarden", version, arg_required_else_help = true)]
struct CommandLine {
    #[command(flatten)]
    flags: Flags,
    #[command(subcommand)]
    command: Command,
}

fn main() -> ExitCode {
    let CommandLine { flags, command } = CommandLine::parse();
    let environment = |name: &str| std::env::var(name).ok();
    command.run(&flags, &environment).unwrap_or_else(|error| {
        // One line: what failed, then why, from the outside in.
        eprintln!("lotwarden: {error:#}");
        ExitCode::FAILURE
    })
}
