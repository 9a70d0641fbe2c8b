//! The symbols of the command sheet, by which the scanner alone drives a station.

use crate::problem::{ApiError, catalogue};
use actix_web::HttpResponse;
use actix_web::web::Path;
use lotwarden_documents::{code_128_symbol, svg};

/// What every command's text begins with: no label of an item does.
const PREFIX: &str = "LWCMD";

/// One command.
#[derive(Debug)]
pub(super) struct Command {
    /// Its name, as its symbol's text ends with.
    pub name: &'static str,
}

/// Every command, in the order of the sheet.
pub(super) const COMMANDS: [Command; 4] = [
    Command { name: "UNDO" },
    Command { name: "AGAIN" },
    Command { name: "HANDOVER" },
    Command { name: "BACK" },
];

impl Command {
    /// What a scanner reads.
    pub fn text(&self) -> String {
        format!("{PREFIX}{}", self.name)
    }

    /// The key of what it does, in words.
    pub fn key(&self) -> String {
        format!("command.{}", self.name.to_lowercase())
    }
}

/// Shows a command's symbol.
pub(super) async fn show_command(name: Path<String>) -> Result<HttpResponse, ApiError> {
    let command = COMMANDS.iter().find(|command| command.name == *name);
    let command = command.ok_or_else(|| ApiError::no_such("command"))?;
    let drawing = code_128_symbol(&command.text());
    let drawing = drawing.ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
    Ok(HttpResponse::Ok()
        .content_type("image/svg+xml")
        .body(svg(&drawing)))
}
