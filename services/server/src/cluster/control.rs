//! Starts and stops the private server.

use std::ffi::OsStr;
use std::fs::{self, File};
use std::io;
use std::os::unix::ffi::OsStrExt;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, ExitStatus, Stdio};
use std::thread::sleep;
use std::time::{Duration, Instant};

use super::Progress;
use super::account::Account;
use super::binaries::Binaries;
use super::layout::Layout;

/// Longest wait for a start, which may replay the log written since the last checkpoint.
const LONGEST_START: Duration = Duration::from_secs(3600);

/// Longest wait for what a killed server left behind to end by itself.
const LONGEST_LEFTOVER: Duration = Duration::from_secs(30);

/// Process number that no process can have (above Linux's highest, 2^22).
const NOBODY: u32 = 0x7fff_fffe;

/// Why the server did not do what it was asked.
#[derive(Debug, thiserror::Error)]
pub enum ControlError {
    /// A file cannot be read or written.
    #[error("cannot use {}", path.display())]
    File {
        /// The file.
        path: PathBuf,
        /// The operating system's reason.
        source: io::Error,
    },
    /// A program cannot be run at all.
    #[error("cannot run {program}")]
    Run {
        /// The program.
        program: &'static str,
        /// The operating system's reason.
        source: io::Error,
    },
    /// A program said no; its own words follow.
    #[error("{program} failed ({status}):\n{words}")]
    Failed {
        /// The program.
        program: &'static str,
        /// How it ended.
        status: ExitStatus,
        /// The end of what it wrote.
        words: String,
    },
}

/// Runs a program to its end.
pub fn run(command: &mut Command, program: &'static str) -> Result<(), ControlError> {
    let output = command
        .stdin(Stdio::null())
        .output()
        .map_err(|source| ControlError::Run { program, source })?;
    if output.status.success() {
        return Ok(());
    }
    Err(ControlError::Failed {
        program,
        status: output.status,
        words: last_lines(&String::from_utf8_lossy(&output.stderr)),
    })
}

/// Gives the process number of the running server, or nothing.
///
/// A number left behind by a killed server may since have been given to some
/// other process, so the process must be a `postgres` started on these data.
pub fn postmaster(layout: &Layout) -> Option<u32> {
    let number = first_line_number(&layout.data.join("postmaster.pid"))?;
    let words = fs::read(format!("/proc/{number}/cmdline")).ok()?;
    let words: Vec<&[u8]> = words.split(|byte| *byte == 0).collect();
    let is_server = words.first()?.ends_with(b"/postgres");
    let given = words.iter().position(|word| *word == b"-D")?;
    let data = Path::new(OsStr::from_bytes(words.get(given + 1)?));
    // One directory may have several names.
    let same = fs::canonicalize(data).ok()? == fs::canonicalize(&layout.data).ok()?;
    (is_server && same).then_some(number)
}

/// Starts the server and returns once it accepts connections.
///
/// # Errors
/// It does not start; the error carries the end of its log.
pub fn start(
    binaries: &Binaries,
    account: &Account,
    layout: &Layout,
    progress: Progress<'_>,
) -> Result<(), ControlError> {
    let killed = layout.data.join("postmaster.pid").exists();
    if killed {
        progress("the last run ended without a shutdown; PostgreSQL recovers by itself");
    }
    let begun = Instant::now();
    loop {
        forget_reused_numbers(layout)?;
        match start_once(binaries, account, layout, progress) {
            // Processes of a killed server end when they notice, a moment later.
            Err(ControlError::Failed { .. }) if killed && begun.elapsed() < LONGEST_LEFTOVER => {
                sleep(Duration::from_millis(500));
            }
            other => return other,
        }
    }
}

/// Stops the server: sessions end, what was not committed is rolled back.
///
/// # Errors
/// It does not stop within two minutes.
pub fn stop(binaries: &Binaries, account: &Account, layout: &Layout) -> Result<(), ControlError> {
    let mut pg_ctl = account.command(&binaries.program("pg_ctl"));
    pg_ctl
        .args(["stop", "--mode=fast", "--wait", "--timeout=120", "--pgdata"])
        .arg(&layout.data);
    run(&mut pg_ctl, "pg_ctl stop")
}

fn start_once(
    binaries: &Binaries,
    account: &Account,
    layout: &Layout,
    progress: Progress<'_>,
) -> Result<(), ControlError> {
    let program = "pg_ctl start";
    // Emptied first, so that its end belongs to this attempt.
    let log = layout.start_log();
    File::create(&log)
        .and_then(|_| account.own(&log))
        .map_err(|source| ControlError::File {
            path: log.clone(),
            source,
        })?;
    let mut child = account
        .command(&binaries.program("pg_ctl"))
        .args(["start", "--wait", "--silent", "--timeout"])
        .arg(LONGEST_START.as_secs().to_string())
        .arg("--log")
        .arg(&log)
        .arg("--pgdata")
        .arg(&layout.data)
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|source| ControlError::Run { program, source })?;
    let status =
        wait(&mut child, progress).map_err(|source| ControlError::Run { program, source })?;
    if status.success() {
        return Ok(());
    }
    let words = fs::read_to_string(&log).unwrap_or_default();
    Err(ControlError::Failed {
        program,
        status,
        words: format!("{}\n(log: {})", last_lines(&words), log.display()),
    })
}

fn wait(child: &mut Child, progress: Progress<'_>) -> io::Result<ExitStatus> {
    let begun = Instant::now();
    let mut said = 0;
    loop {
        if let Some(status) = child.try_wait()? {
            return Ok(status);
        }
        let seconds = begun.elapsed().as_secs();
        if seconds >= said + 5 {
            said = seconds;
            progress(&format!("PostgreSQL is still starting, {seconds} s"));
        }
        sleep(Duration::from_millis(20));
    }
}

/// Corrects process numbers of a killed server that now belong to another process.
///
/// PostgreSQL refuses to start while the number in its files is alive. In the
/// data directory only the number is replaced: the rest of that file is how
/// PostgreSQL finds out whether remains of the killed server still use the data.
fn forget_reused_numbers(layout: &Layout) -> Result<(), ControlError> {
    if postmaster(layout).is_some() {
        return Ok(());
    }
    let attempt = |path: &Path, done: io::Result<()>| {
        done.map_err(|source| ControlError::File {
            path: path.to_owned(),
            source,
        })
    };
    let alive = |number: u32| Path::new(&format!("/proc/{number}")).exists();
    let file = layout.data.join("postmaster.pid");
    if first_line_number(&file).is_some_and(alive) {
        let corrected = fs::read_to_string(&file).and_then(|text| {
            let rest = text.split_once('\n').map_or("", |(_, rest)| rest);
            fs::write(&file, format!("{NOBODY}\n{rest}"))
        });
        attempt(&file, corrected)?;
    }
    let socket = layout.sockets.join(".s.PGSQL.5432.lock");
    if first_line_number(&socket).is_some_and(alive) {
        attempt(&socket, fs::remove_file(&socket))?;
    }
    Ok(())
}

fn first_line_number(file: &Path) -> Option<u32> {
    let text = fs::read_to_string(file).ok()?;
    text.lines().next()?.trim().parse().ok()
}

fn last_lines(text: &str) -> String {
    let lines: Vec<&str> = text.trim_end().lines().collect();
    lines[lines.len().saturating_sub(8)..].join("\n")
}
