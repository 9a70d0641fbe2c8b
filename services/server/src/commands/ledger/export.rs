//! `lotwarden ledger export`

use std::fs::{File, OpenOptions};
use std::io::{self, Write};
use std::os::unix::fs::OpenOptionsExt;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

use anyhow::Context;
use indicatif::{ProgressBar, ProgressStyle};
use lotwarden_domain::access::act;
use lotwarden_store::facilities::Facility;
use lotwarden_store::ledger::{ExportParcel, Exported, write_parcel};
use lotwarden_store::{Receipt, Rendered, Request};

use crate::commands::opened::Opened;
use crate::commands::say;

/// Binds a parcel to the ledger and writes its file.
pub fn run(
    opened: &Opened,
    facility: Option<&str>,
    file: &Path,
    reason: String,
    with_identity: bool,
) -> anyhow::Result<ExitCode> {
    let facility = opened.facility(facility)?;
    // Before the entry: a parcel that cannot be written is not put on record.
    let part = Part::create(file)?;
    let grant = opened.grant::<act::ExportParcel>(&facility)?;
    let operation = ExportParcel {
        with_identity,
        reason,
    };
    let position = |_: &Exported, receipt: Receipt| Rendered {
        status: 201,
        body: receipt.position.to_be_bytes().to_vec(),
        etag: None,
    };
    let recorded = opened
        .recorder
        .record(&grant, Request::default(), operation, position);
    let answer = opened
        .runtime
        .block_on(recorded)
        .context("nothing was recorded")?;
    let position: [u8; 8] = answer.rendered.body.as_slice().try_into()?;
    let position = u64::from_be_bytes(position);
    opened
        .runtime
        .block_on(write(opened, &facility, position, &part.file))
        .with_context(|| format!("cannot write {}", file.display()))?;
    part.keep(file)?;
    say(&format!(
        "wrote {} entries of {} to {}",
        position + 1,
        facility.name,
        file.display()
    ));
    say(&format!(
        "check it with: lotwarden-verify parcel {}",
        file.display()
    ));
    Ok(ExitCode::SUCCESS)
}

async fn write(
    opened: &Opened,
    facility: &Facility,
    position: u64,
    mut file: &File,
) -> anyhow::Result<()> {
    let key = facility.key(opened.recorder.master())?;
    let bar = ProgressBar::new(position + 1);
    if let Ok(style) = ProgressStyle::with_template("{bar:30} {pos}/{len} entries, {eta}") {
        bar.set_style(style);
    }
    let deliver = async |piece: Vec<u8>| file.write_all(&piece);
    let progress = |written| bar.set_position(written);
    let database = opened.recorder.database();
    let written = write_parcel(database, facility, &key, position, deliver, progress).await;
    bar.finish_and_clear();
    Ok(written?)
}

/// A file that is not whole yet; it gets its name when it is, and goes when it never will be.
struct Part {
    file: File,
    path: PathBuf,
    whole: bool,
}

impl Part {
    fn create(name: &Path) -> anyhow::Result<Self> {
        if name.exists() {
            let error = io::Error::from(io::ErrorKind::AlreadyExists);
            return Err(error).with_context(|| format!("cannot write {}", name.display()));
        }
        let mut path = name.as_os_str().to_owned();
        path.push(".part");
        let path = PathBuf::from(path);
        // Readable for its owner only: it may hold patients' identities.
        let file = OpenOptions::new()
            .write(true)
            .create(true)
            .truncate(true)
            .mode(0o600)
            .open(&path)
            .with_context(|| format!("cannot write {}", path.display()))?;
        Ok(Self {
            file,
            path,
            whole: false,
        })
    }

    fn keep(mut self, name: &Path) -> anyhow::Result<()> {
        let kept = self.file.sync_all();
        let kept = kept.and_then(|()| std::fs::rename(&self.path, name));
        self.whole = kept.is_ok();
        kept.with_context(|| format!("cannot write {}", name.display()))
    }
}

impl Drop for Part {
    fn drop(&mut self) {
        if !self.whole {
            // Nothing better can be done with a piece of a file that cannot be removed either.
            let _ = std::fs::remove_file(&self.path);
        }
    }
}
