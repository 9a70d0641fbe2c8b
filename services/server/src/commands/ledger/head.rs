//! `lotwarden ledger head`

use std::process::ExitCode;

use lotwarden_store::ledger::show_head;
use lotwarden_store::moment::instant_text;
use serde_json::json;

use crate::commands::opened::Opened;
use crate::commands::print;

/// Prints the newest state.
pub fn run(opened: &Opened, facility: Option<&str>, json: bool) -> anyhow::Result<ExitCode> {
    let facility = opened.facility(facility)?;
    let head = opened.runtime.block_on(async {
        let mut reading = opened.recorder.database().reading(facility.id).await?;
        show_head(&mut reading).await
    })?;
    let (hash, at) = (head.hash.to_string(), head.at.map(instant_text));
    print(&if json {
        let text = json!({
            "facility": facility.name, "ledger": head.ledger, "size": head.size, "hash": hash, "at": at,
        });
        format!("{text}\n")
    } else {
        let at = at.unwrap_or_else(|| "never".to_owned());
        format!(
            "facility  {}\nledger    {}\nentries   {}\nhead      {hash}\nat        {at}\n",
            facility.name, head.ledger, head.size
        )
    })?;
    Ok(ExitCode::SUCCESS)
}
