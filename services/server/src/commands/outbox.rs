//! `lotwarden outbox`

use std::fs::{self, File, OpenOptions};
use std::io::{self, Write};
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context;
use lotwarden_domain::access::act;
use lotwarden_store::outbox::{HandOver, Mail, to_hand_over};
use lotwarden_store::{RecordError, Rendered, Request};

use super::opened::Opened;
use crate::settings::Settings;

/// Hands the mail of the outbox to a mail system.
#[derive(clap::Args)]
#[command(after_help = "Examples:
  lotwarden outbox --spool /var/spool/lotwarden
  lotwarden outbox | tee mails.mbox

Each mail is a message as RFC 5322 has it, to the site's own addresses and without
any patient's identity. With --spool each becomes a file NAME.eml that is whole as
soon as it is there; a mail system takes it from there. Without it the mails are
printed one after the other, each behind a line that begins with \"From \". A mail
that was handed over is not handed over again; one that could not be written whole
waits on.")]
pub struct Args {
    /// Directory that the mails are written to
    #[arg(long, value_name = "DIR")]
    spool: Option<PathBuf>,
    /// Facility; needed where there are several
    #[arg(long)]
    facility: Option<String>,
}

/// Mails of one look at the outbox.
const MOST: i64 = 100;

/// Hands over what waits.
pub fn run(args: &Args, settings: &Settings) -> anyhow::Result<ExitCode> {
    let opened = Opened::open(settings)?;
    let facility = opened.facility(args.facility.as_deref())?;
    let grant = opened.grant::<act::ListMails>(&facility)?;
    let mut handed = 0;
    loop {
        let mails = opened.runtime.block_on(async {
            let database = opened.recorder.database();
            let mut reading = database.reading(facility.id).await?;
            to_hand_over(&mut reading, MOST).await
        })?;
        if mails.is_empty() {
            break;
        }
        for mail in mails {
            match &args.spool {
                Some(spool) => write(spool, &mail)?,
                None => print(&mail).with_context(|| {
                    format!(
                        "{handed} mails handed over; mail {} and those after it wait on",
                        mail.id
                    )
                })?,
            }
            // A crash before this line hands the mail over once more, under the same name.
            let recorded = opened.recorder.record(
                &grant,
                Request::default(),
                HandOver { id: mail.id },
                |(), _| Rendered {
                    status: 200,
                    body: Vec::new(),
                    etag: None,
                },
            );
            match opened.runtime.block_on(recorded) {
                Ok(_) | Err(RecordError::Refused(_)) => handed += 1,
                Err(error) => return Err(error).context("a mail was handed over and not recorded"),
            }
        }
    }
    super::say(&format!("{handed} mails handed over"));
    Ok(ExitCode::SUCCESS)
}

/// Prints a mail; a reader that went away took nothing, so that is a failure here. A line that would
/// begin another mail is quoted (RFC 4155, default format).
fn print(mail: &Mail) -> io::Result<()> {
    let mut text = format!("From lotwarden {}\n", mail.id);
    for line in mail.message.split_inclusive('\n') {
        if line.trim_start_matches('>').starts_with("From ") {
            text.push('>');
        }
        text.push_str(line);
    }
    text.push('\n');
    let mut out = io::stdout().lock();
    out.write_all(text.as_bytes())?;
    out.flush()
}

/// Writes a mail beside its place and moves it there, so that nobody takes half of it.
fn write(spool: &Path, mail: &Mail) -> anyhow::Result<()> {
    let name = spool.join(format!("{}.eml", mail.id));
    let part = spool.join(format!(".{}.part", mail.id));
    let written = || {
        let mut file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(true)
            .open(&part)?;
        file.write_all(mail.message.as_bytes())?;
        file.sync_all()?;
        fs::rename(&part, &name)?;
        // The name is on the disk before the ledger says so.
        File::open(spool)?.sync_all()
    };
    written().with_context(|| format!("{} cannot be written", name.display()))
}
