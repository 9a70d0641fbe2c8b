//! The settings as global command-line flags, made from the declared table.

use clap::{Arg, ArgAction, ArgMatches, Command, Error, FromArgMatches};

use super::declared::DECLARED;

/// Settings given as flags, by their place in the declared table.
#[derive(Clone, Debug, Default)]
pub struct Flags {
    /// The settings file, from `--settings`.
    pub file: Option<String>,
    /// One place for each declared setting.
    pub values: Vec<Option<String>>,
}

impl FromArgMatches for Flags {
    fn from_arg_matches(matches: &ArgMatches) -> Result<Self, Error> {
        let text = |id: &str| matches.get_one::<String>(id).cloned();
        Ok(Self {
            file: text("settings_file"),
            values: DECLARED.iter().map(|row| text(row.name)).collect(),
        })
    }

    fn update_from_arg_matches(&mut self, matches: &ArgMatches) -> Result<(), Error> {
        *self = Self::from_arg_matches(matches)?;
        Ok(())
    }
}

impl clap::Args for Flags {
    fn augment_args(command: Command) -> Command {
        // Short help stays short: the settings appear with --help alone.
        let global = |arg: Arg| {
            arg.global(true)
                .action(ArgAction::Set)
                .help_heading("Settings (flag, else environment, else file, else default)")
                .hide_short_help(true)
        };
        let command = command.arg(global(
            Arg::new("settings_file")
                .long("settings")
                .value_name("FILE")
                .help("Settings file [LOTWARDEN_SETTINGS; default: lotwarden.toml in the data directory]"),
        ));
        DECLARED.iter().fold(command, |command, row| {
            command.arg(global(
                Arg::new(row.name)
                    .long(row.flag())
                    .value_name(row.placeholder)
                    .help(format!("{} [{}]", row.meaning, row.variable())),
            ))
        })
    }

    fn augment_args_for_update(command: Command) -> Command {
        Self::augment_args(command)
    }
}
