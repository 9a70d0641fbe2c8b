//! `lotwarden settings`

use std::process::ExitCode;

use serde_json::json;

use super::print;
use crate::settings::{
    Environment, Fallback, Flags, Found, Origin, SecretUrl, Settings, SettingsError, Sources,
};

/// Prints every setting with its value, origin and meaning.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden settings
  lotwarden settings data_dir
  LOTWARDEN_LISTEN=127.0.0.1:9000 lotwarden settings --json

Each setting is a flag (--data-dir), an environment variable
(LOTWARDEN_DATA_DIR) and a key of the settings file (data_dir = \"...\").")]
pub struct Args {
    /// Print the value of this setting alone
    name: Option<String>,
    /// Print one JSON object
    #[arg(long, conflicts_with = "name")]
    json: bool,
}

/// No setting has this name.
#[derive(Debug, thiserror::Error)]
#[error("there is no setting `{name}`; `lotwarden settings` lists those that exist")]
struct NoSuchSetting {
    name: String,
}

/// Prints them; passwords are masked. A data directory that is nowhere is shown as such.
pub fn run(args: Args, flags: &Flags, environment: Environment<'_>) -> anyhow::Result<ExitCode> {
    let sources = Sources::find(flags, environment)?;
    match Settings::check(&sources) {
        Ok(_) | Err(SettingsError::NoHome) => {}
        Err(fault) => return Err(fault.into()),
    }
    let Sources { found, file } = sources;
    if let Some(name) = args.name {
        let found = found.iter().find(|row| row.declared.name == name);
        let value = found.ok_or(NoSuchSetting { name }).map(shown)?;
        print(&format!("{}\n", value.unwrap_or_default()))?;
        return Ok(ExitCode::SUCCESS);
    }
    if args.json {
        let rows: Vec<_> = found.iter().map(as_json).collect();
        let document = json!({ "settings": rows, "file": file });
        print(&format!("{document:#}\n"))?;
        return Ok(ExitCode::SUCCESS);
    }
    let mut text = match &file {
        Some(file) if file.exists() => format!("Settings file: {}\n", file.display()),
        Some(file) => format!("Settings file: {}, which does not exist\n", file.display()),
        None => "Settings file: none, because there is no data directory\n".to_owned(),
    };
    for found in &found {
        let value = shown(found).unwrap_or_else(|| match found.declared.fallback {
            Fallback::Nothing(instead) => format!("(none: {instead})"),
            Fallback::SystemDataDir => format!("(none: {})", SettingsError::NoHome),
            _ => "(none)".to_owned(),
        });
        let (name, meaning) = (found.declared.name, found.declared.meaning);
        let origin = &found.origin;
        text += &format!("\n{name} = {value}\n    from {origin}\n    {meaning}\n");
    }
    print(&text)?;
    Ok(ExitCode::SUCCESS)
}

fn as_json(found: &Found) -> serde_json::Value {
    let origin = match &found.origin {
        Origin::Flag(_) => "flag",
        Origin::Environment(_) => "environment",
        Origin::File(_) => "file",
        Origin::Default => "default",
    };
    json!({
        "name": found.declared.name,
        "value": shown(found),
        "origin": origin,
        "variable": found.declared.variable(),
        "flag": format!("--{}", found.declared.flag()),
        "meaning": found.declared.meaning,
    })
}

/// The value as it may be shown; a secret one was parsed before and is shown without its password.
fn shown(found: &Found) -> Option<String> {
    let text = found.text.as_ref()?;
    if !found.declared.secret {
        return Some(text.clone());
    }
    Some(SecretUrl::parse(text).map_or_else(|_| "********".to_owned(), |url| url.to_string()))
}
