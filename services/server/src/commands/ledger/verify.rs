//! `lotwarden ledger verify`

use std::process::ExitCode;

use anyhow::Context;
use indicatif::{ProgressBar, ProgressStyle};
use lotwarden_store::facilities::{self, Facility};
use lotwarden_store::ledger::{Verified, VerifyError, show_head, verify_all};
use lotwarden_store::moment::instant_text;
use serde_json::{Value, json};

use crate::commands::opened::Opened;
use crate::commands::print;

/// Verifies the ledger of one facility, or of every one.
pub fn run(opened: &Opened, facility: Option<&str>, json: bool) -> anyhow::Result<ExitCode> {
    let facilities = match facility {
        Some(name) => vec![opened.facility(Some(name))?],
        None => opened
            .runtime
            .block_on(facilities::list(opened.recorder.database()))?,
    };
    let mut all_fit = true;
    for facility in facilities {
        let (fits, report) = match opened.runtime.block_on(verify(opened, &facility)) {
            Ok(verified) => (true, fitting(&facility, &verified, json)),
            Err(VerifyError::DoesNotFit { position, misfit }) => {
                let misfit = misfit.to_string();
                (false, misfitting(&facility, position, &misfit, json))
            }
            Err(other) => {
                return Err(other).context("the ledger could not be read to its end");
            }
        };
        all_fit &= fits;
        print(&report)?;
    }
    Ok(if all_fit {
        ExitCode::SUCCESS
    } else {
        ExitCode::FAILURE
    })
}

async fn verify(opened: &Opened, facility: &Facility) -> Result<Verified, VerifyError> {
    let database = opened.recorder.database();
    let mut reading = database.reading(facility.id).await?;
    let size = show_head(&mut reading).await?.size;
    drop(reading);
    // Drawn on standard error, and only where that is a terminal.
    let bar = ProgressBar::new(size);
    if let Ok(style) =
        ProgressStyle::with_template("{bar:30} {pos}/{len} entries, {per_sec}, {eta}")
    {
        bar.set_style(style);
    }
    let verified = verify_all(database, facility.id, |checked| bar.set_position(checked)).await;
    bar.finish_and_clear();
    verified
}

fn fitting(facility: &Facility, verified: &Verified, json: bool) -> String {
    let (hash, at) = (verified.hash.to_string(), verified.at.map(instant_text));
    if json {
        return line(&json!({
            "facility": facility.name, "ledger": facility.id, "fits": true,
            "size": verified.size, "checked": verified.checked, "head": hash, "at": at,
        }));
    }
    let at = at.map(|at| format!(" at {at}")).unwrap_or_default();
    format!(
        "{}: every one of {} entries fits; head {hash}{at}\n",
        facility.name, verified.size
    )
}

fn misfitting(facility: &Facility, position: u64, misfit: &str, json: bool) -> String {
    if json {
        return line(&json!({
            "facility": facility.name, "ledger": facility.id, "fits": false,
            "position": position, "reason": misfit,
        }));
    }
    format!(
        "{}: entry {position} does not fit: {misfit}\n",
        facility.name
    )
}

fn line(value: &Value) -> String {
    format!("{value}\n")
}
