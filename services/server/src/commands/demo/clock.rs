//! The clock of the demonstration's past.

use std::sync::atomic::{AtomicI64, Ordering};

use jiff::{SignedDuration, Timestamp};
use lotwarden_domain::Clock;

/// What one recorded step takes at the demonstration facility.
const STEP: SignedDuration = SignedDuration::from_secs(20);

/// Stands where it was put and goes on by 20 seconds with each reading; it never steps back,
/// because a ledger refuses an entry older than its head.
pub struct DemoClock(AtomicI64);

impl DemoClock {
    /// A clock that begins at an instant.
    pub fn at(at: Timestamp) -> Self {
        Self(AtomicI64::new(at.as_microsecond()))
    }

    /// Puts the clock forward; an instant that is over changes nothing.
    pub fn forward_to(&self, at: Timestamp) {
        self.0.fetch_max(at.as_microsecond(), Ordering::SeqCst);
    }
}

impl Clock for DemoClock {
    fn now(&self) -> Timestamp {
        let step = i64::try_from(STEP.as_micros()).unwrap_or(i64::MAX);
        let at = self.0.fetch_add(step, Ordering::SeqCst);
        Timestamp::from_microsecond(at).unwrap_or(Timestamp::MAX)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_clock_goes_on_and_never_steps_back() {
        let begin: Timestamp = "2026-09-01T12:00:00Z".parse().unwrap();
        let clock = DemoClock::at(begin);
        assert_eq!(clock.now(), begin);
        clock.forward_to(begin);
        assert_eq!(clock.now(), begin + STEP);
    }
}
