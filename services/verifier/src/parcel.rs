//! The command `parcel`.
use std::{
    error::Error,
    fs::File,
    io::{self, BufRead, BufReader, IsTerminal, Write},
    path::Path,
    process::ExitCode,
};

use lotwarden_ledger::parcel::{ParcelFault, Report, verify};
use serde_json::json;

const BUFFER: usize = 1 << 18;

/// Checks one file and prints what was found.
pub fn check(file: &Path, json: bool) -> ExitCode {
    let result = open(file)
        .map_err(ParcelFault::Unreadable)
        .and_then(|reader| verify(reader, progress()));
    let text = match (&result, json) {
        (Ok(report), true) => json!({"valid": true, "report": report}).to_string(),
        (Ok(report), false) => sentences(report),
        (Err(fault), true) => json!({
            "valid": false,
            "checked": !fault.is_unreadable(),
            "position": fault.position(),
            "reason": chain(fault),
        })
        .to_string(),
        (Err(fault), false) if fault.is_unreadable() => format!("not checked: {}", chain(fault)),
        (Err(fault), false) => format!("not valid: {}", chain(fault)),
    };
    let on_stdout = json || result.is_ok();
    let printed = if on_stdout {
        writeln!(io::stdout(), "{text}")
    } else {
        writeln!(io::stderr(), "{text}")
    };
    match (result, printed) {
        (_, Err(_)) => ExitCode::from(2),
        (Ok(_), Ok(())) => ExitCode::SUCCESS,
        (Err(fault), Ok(())) => ExitCode::from(if fault.is_unreadable() { 2 } else { 1 }),
    }
}

fn open(file: &Path) -> io::Result<Box<dyn BufRead>> {
    if file == Path::new("-") {
        return Ok(Box::new(BufReader::with_capacity(BUFFER, io::stdin())));
    }
    Ok(Box::new(BufReader::with_capacity(
        BUFFER,
        File::open(file)?,
    )))
}

/// Shows the number of checked entries where a person watches.
fn progress() -> impl FnMut(u64) {
    let watched = io::stderr().is_terminal();
    let mut shown = 0;
    move |entries| {
        if watched && entries >= shown + 100_000 {
            shown = entries;
            // A progress line that cannot be shown changes nothing about the check.
            let _ = write!(io::stderr(), "\r{entries} entries checked\r");
        }
    }
}

/// Writes a fault with its causes: this is where it is handled.
fn chain(fault: &ParcelFault) -> String {
    let mut text = fault.to_string();
    let mut cause = fault.source();
    while let Some(next) = cause {
        text.push_str(&format!(": {next}"));
        cause = next.source();
    }
    text
}

fn sentences(report: &Report) -> String {
    let Report {
        ledger,
        facility,
        entries,
        first,
        last,
        head,
        first_at,
        last_at,
        cases,
        signatures,
        people,
        disclosed,
        withheld,
    } = report;
    let start = if *first == 0 {
        "the first is the ledger's first"
    } else {
        "entries before the first are not in this parcel"
    };
    format!(
        "valid
  facility     {facility}
  ledger       {ledger}
  entries      {entries}, positions {first} to {last}; {start}
  time         {first_at} to {last_at}
  cases        {cases}
  signatures   {signatures}, each recorded by its entry
  people       {people}
  disclosed    {disclosed} values, each re-hashed to its commitment
  withheld     {withheld} values
  head         {head}
Checked: every entry's bytes, position, time and link; the export entry binds the cases, signatures
and people; the file's own digest. To see that no newer entry was cut and that the chain was not
written anew, compare the head, or any entry's hash, with a receipt kept elsewhere."
    )
}
