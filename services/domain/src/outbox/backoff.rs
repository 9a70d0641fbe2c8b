//! When an attempt that failed is made again.

use std::time::Duration;

/// Attempts until a message is given up.
pub const ATTEMPTS: u16 = 9;

/// The times that Standard Webhooks gives as an example (from memory): 5 seconds, 5 and 30 minutes,
/// 2, 5, 10, 14, 20 and 24 hours; here without the last, so that the last attempt is a good three
/// days after the first.
const WAITS: [u64; ATTEMPTS as usize - 1] = [
    5,
    5 * 60,
    30 * 60,
    2 * 3600,
    5 * 3600,
    10 * 3600,
    14 * 3600,
    20 * 3600,
];

/// How long to wait after so many failed attempts; none when there is no further one.
#[must_use]
pub fn wait_after(attempts: u16) -> Option<Duration> {
    let at = usize::from(attempts.checked_sub(1)?);
    WAITS.get(at).map(|seconds| Duration::from_secs(*seconds))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_wait_is_longer_than_the_one_before_and_the_last_attempt_has_none() {
        let waits: Vec<_> = (1..ATTEMPTS).map(wait_after).collect();
        assert!(waits.iter().all(Option::is_some));
        assert!(waits.is_sorted());
        assert_eq!(wait_after(ATTEMPTS), None);
        assert_eq!(wait_after(0), None);
    }
}
