//! Everything the services of this run log, kept for tests that look for what must not be in it.

use std::fs::File;
use std::io::Write;
use std::path::PathBuf;
use std::sync::{Mutex, OnceLock};
use tracing_subscriber::EnvFilter;

static LINES: Mutex<Vec<u8>> = Mutex::new(Vec::new());

struct Lines;

impl Write for Lines {
    fn write(&mut self, bytes: &[u8]) -> std::io::Result<usize> {
        if let Some(mut file) = file() {
            file.write_all(bytes)?;
        }
        LINES
            .lock()
            .expect("no test panics while logging")
            .extend_from_slice(bytes);
        Ok(bytes.len())
    }

    fn flush(&mut self) -> std::io::Result<()> {
        Ok(())
    }
}

/// Where `tests/run` gathers what the services of all its parts log, to search it once.
pub fn gathered() -> Option<PathBuf> {
    std::env::var_os("LOTWARDEN_TEST_LOGS").map(PathBuf::from)
}

fn file() -> Option<&'static File> {
    static FILE: OnceLock<Option<File>> = OnceLock::new();
    let open = || File::create(gathered()?.join("in-process.log")).ok();
    FILE.get_or_init(open).as_ref()
}

/// Keeps log lines from now on, in more detail than the service logs by itself.
pub fn keep() {
    static KEPT: OnceLock<()> = OnceLock::new();
    KEPT.get_or_init(|| {
        let filter =
            EnvFilter::new("info,lotwarden_api=trace,lotwarden_store=trace,lotwarden_domain=trace");
        tracing_subscriber::fmt()
            .json()
            .with_env_filter(filter)
            .with_writer(|| Lines)
            .init();
    });
}

/// Every line so far.
pub fn lines() -> String {
    String::from_utf8_lossy(&LINES.lock().expect("no test panics while logging")).into_owned()
}

/// The last errors and warnings, of whichever test.
pub fn complaints() -> String {
    let lines = lines();
    let complaint =
        |line: &&str| line.contains(r#""level":"ERROR""#) || line.contains(r#""level":"WARN""#);
    let last: Vec<&str> = lines.lines().filter(complaint).rev().take(5).collect();
    format!(
        "\nthe last errors and warnings logged:\n{}",
        last.join("\n")
    )
}
