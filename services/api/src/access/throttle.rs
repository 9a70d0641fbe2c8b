//! Slowing down guessing and flooding, in this process's memory.

use crate::problem::{ApiError, catalogue};
use governor::clock::{Clock, DefaultClock};
use governor::{DefaultKeyedRateLimiter, Quota, RateLimiter};
use std::num::NonZeroU32;
use uuid::Uuid;

/// Limits by account, by address and by caller.
pub struct Throttle {
    accounts: DefaultKeyedRateLimiter<String>,
    addresses: DefaultKeyedRateLimiter<String>,
    callers: DefaultKeyedRateLimiter<Uuid>,
}

impl std::fmt::Debug for Throttle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Throttle").finish_non_exhaustive()
    }
}

impl Throttle {
    /// Ten sign-ins at once and then six a minute for an account, sixty at once and a minute for an
    /// address (a room shares one), and so many requests a minute for a caller.
    #[must_use]
    pub fn new(requests_per_minute: NonZeroU32) -> Self {
        const ACCOUNT: NonZeroU32 = NonZeroU32::new(6).unwrap();
        const ACCOUNT_BURST: NonZeroU32 = NonZeroU32::new(10).unwrap();
        const ADDRESS: NonZeroU32 = NonZeroU32::new(60).unwrap();
        Self {
            accounts: RateLimiter::keyed(Quota::per_minute(ACCOUNT).allow_burst(ACCOUNT_BURST)),
            addresses: RateLimiter::keyed(Quota::per_minute(ADDRESS)),
            callers: RateLimiter::keyed(Quota::per_minute(requests_per_minute)),
        }
    }

    /// Counts a sign-in of an account from an address.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn sign_in(&self, login: &str, address: &str) -> Result<(), ApiError> {
        self.address(address)?;
        wait(&self.accounts, &login.to_owned())
    }

    /// Counts an attempt without a login from an address.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn address(&self, address: &str) -> Result<(), ApiError> {
        wait(&self.addresses, &address.to_owned())
    }

    /// Counts a request of a caller.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn request(&self, person: Uuid) -> Result<(), ApiError> {
        wait(&self.callers, &person)
    }

    /// Forgets keys that have been quiet long enough to make no difference.
    pub fn forget_quiet(&self) {
        self.accounts.retain_recent();
        self.addresses.retain_recent();
        self.callers.retain_recent();
    }
}

fn wait<K: std::hash::Hash + Eq + Clone>(
    limiter: &DefaultKeyedRateLimiter<K>,
    key: &K,
) -> Result<(), ApiError> {
    limiter.check_key(key).map_err(|until| {
        let wait = until.wait_time_from(DefaultClock::default().now());
        let seconds = u32::try_from(wait.as_secs())
            .unwrap_or(u32::MAX)
            .saturating_add(1);
        ApiError::new(&catalogue::TOO_MANY).retry_after(seconds)
    })
}
