//! How far an import is: a bar on a terminal, a line now and then elsewhere.

use std::io::IsTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use indicatif::{ProgressBar, ProgressStyle};

use super::super::say;
use super::source::Source;

/// Records between two lines where there is no terminal.
const EVERY: u64 = 5_000;

/// Shows on standard error how far an import is.
pub struct Progress {
    bar: Option<ProgressBar>,
    read: Arc<AtomicU64>,
    records: u64,
}

impl Progress {
    /// Begins to show how much of the file is read.
    pub fn start(source: &Source) -> Self {
        let bar = std::io::stderr().is_terminal().then(|| {
            let bar = ProgressBar::new(source.length);
            // The template is a constant; were it wrong, indicatif's own would be shown.
            if let Ok(style) = ProgressStyle::with_template("{wide_bar} {msg} {percent}% {elapsed}")
            {
                bar.set_style(style);
            }
            bar
        });
        Self {
            bar,
            read: Arc::clone(&source.read),
            records: 0,
        }
    }

    /// Goes on by so many records.
    pub fn advance(&mut self, records: u64) {
        let before = self.records / EVERY;
        self.records += records;
        match &self.bar {
            Some(bar) => {
                bar.set_position(self.read.load(Ordering::Relaxed));
                bar.set_message(format!("{} records", self.records));
            }
            None if self.records / EVERY > before => say(&format!("{} records", self.records)),
            None => {}
        }
    }

    /// Says a line without breaking the bar.
    pub fn say(&self, line: &str) {
        match &self.bar {
            Some(bar) => bar.suspend(|| say(line)),
            None => say(line),
        }
    }

    /// Takes the bar away.
    pub fn finish(self) {
        if let Some(bar) = self.bar {
            bar.finish_and_clear();
        }
    }
}
