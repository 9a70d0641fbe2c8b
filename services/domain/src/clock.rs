//! Time as a dependency: nothing but [`SystemClock`] reads the wall clock.

use jiff::Timestamp;

/// A source of the current instant, in UTC.
pub trait Clock: Send + Sync + 'static {
    /// The current instant, cut to whole microseconds (what PostgreSQL keeps).
    fn now(&self) -> Timestamp;
}

/// The machine's own clock.
#[derive(Debug, Clone, Copy, Default)]
pub struct SystemClock;

impl Clock for SystemClock {
    fn now(&self) -> Timestamp {
        #[expect(
            clippy::disallowed_methods,
            reason = "the one place where the wall clock is read"
        )]
        let now = Timestamp::now();
        whole_microseconds(now)
    }
}

/// The instant cut down to whole microseconds, the resolution of `timestamptz` and of entries.
#[must_use]
pub fn whole_microseconds(at: Timestamp) -> Timestamp {
    Timestamp::from_microsecond(at.as_microsecond()).unwrap_or(at)
}
