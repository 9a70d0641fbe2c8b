//! A clock that a test sets.

use jiff::{SignedDuration, Timestamp};
use lotwarden_domain::Clock;
use std::sync::atomic::{AtomicI64, Ordering};

/// Stands where it was set, and goes on by a millisecond with each reading, so that what happens
/// later is later.
pub struct TestClock(AtomicI64);

impl TestClock {
    pub fn at(at: Timestamp) -> Self {
        Self(AtomicI64::new(at.as_microsecond()))
    }

    pub fn set(&self, at: Timestamp) {
        self.0.store(at.as_microsecond(), Ordering::SeqCst);
    }

    pub fn advance(&self, by: SignedDuration) {
        self.0.fetch_add(by.as_micros() as i64, Ordering::SeqCst);
    }

    pub fn reading(&self) -> Timestamp {
        Timestamp::from_microsecond(self.0.load(Ordering::SeqCst)).expect("a year that jiff has")
    }
}

impl Clock for TestClock {
    fn now(&self) -> Timestamp {
        let at = self.0.fetch_add(1_000, Ordering::SeqCst);
        Timestamp::from_microsecond(at).expect("a year that jiff has")
    }
}

/// An instant as RFC 3339 writes it.
pub fn instant(text: &str) -> Timestamp {
    text.parse().expect("an RFC 3339 instant")
}
