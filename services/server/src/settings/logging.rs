//! The log of a running service: one line an event, on standard error.

use tracing_subscriber::EnvFilter;

use super::{LogFormat, Settings};

impl Settings {
    /// Starts the log; a second call changes nothing.
    pub fn start_logging(&self) {
        let filter = EnvFilter::new(&self.log);
        let lines = tracing_subscriber::fmt()
            .with_env_filter(filter)
            .with_writer(std::io::stderr)
            .with_ansi(false);
        // Only the first subscriber of a process counts, and that is what is wanted.
        let _ = match self.log_format {
            LogFormat::Text => lines.try_init(),
            LogFormat::Json => lines.json().flatten_event(true).try_init(),
        };
    }
}
