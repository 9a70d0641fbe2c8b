//! Slowing down guessing and flooding, in this process's memory.

use crate::problem::{ApiError, catalogue};
use governor::clock::{Clock, DefaultClock};
use governor::middleware::StateInformationMiddleware;
use governor::state::keyed::DefaultKeyedStateStore;
use governor::{DefaultKeyedRateLimiter, NotUntil, Quota, RateLimiter};
use std::num::NonZeroU32;
use uuid::Uuid;

/// Limits by account, by address and by caller.
pub struct Throttle {
    accounts: DefaultKeyedRateLimiter<String>,
    pins: DefaultKeyedRateLimiter<Uuid>,
    stations: DefaultKeyedRateLimiter<Uuid>,
    addresses: DefaultKeyedRateLimiter<String>,
    callers:
        RateLimiter<Uuid, DefaultKeyedStateStore<Uuid>, DefaultClock, StateInformationMiddleware>,
}

/// What a caller may still ask for, as answers say it (RateLimit header fields for HTTP,
/// draft-ietf-httpapi-ratelimit-headers).
#[derive(Clone, Copy, Debug)]
pub struct Allowance {
    quota: u32,
    remaining: u32,
}

impl Allowance {
    /// The value of `RateLimit-Policy`: requests and the seconds they are counted over.
    #[must_use]
    pub fn policy(self) -> String {
        format!("\"caller\";q={};w=60", self.quota)
    }

    /// The value of `RateLimit`: requests left, and the seconds until all are there again.
    #[must_use]
    pub fn left(self) -> String {
        let used = u64::from(self.quota - self.remaining);
        let seconds = (used * 60).div_ceil(u64::from(self.quota));
        format!("\"caller\";r={};t={seconds}", self.remaining)
    }
}

impl std::fmt::Debug for Throttle {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Throttle").finish_non_exhaustive()
    }
}

impl Throttle {
    /// Ten sign-ins at once and then six a minute for an account, sixty at once and a minute for an
    /// address (a room shares one), five PINs at once and then three a minute for a person, thirty
    /// at once and a minute for a station, and so many requests a minute for a caller.
    #[must_use]
    pub fn new(requests_per_minute: NonZeroU32) -> Self {
        const ACCOUNT: NonZeroU32 = NonZeroU32::new(6).unwrap();
        const ACCOUNT_BURST: NonZeroU32 = NonZeroU32::new(10).unwrap();
        const PIN: NonZeroU32 = NonZeroU32::new(3).unwrap();
        const PIN_BURST: NonZeroU32 = NonZeroU32::new(5).unwrap();
        const STATION: NonZeroU32 = NonZeroU32::new(30).unwrap();
        const ADDRESS: NonZeroU32 = NonZeroU32::new(60).unwrap();
        Self {
            accounts: RateLimiter::keyed(Quota::per_minute(ACCOUNT).allow_burst(ACCOUNT_BURST)),
            pins: RateLimiter::keyed(Quota::per_minute(PIN).allow_burst(PIN_BURST)),
            stations: RateLimiter::keyed(Quota::per_minute(STATION)),
            addresses: RateLimiter::keyed(Quota::per_minute(ADDRESS)),
            callers: RateLimiter::keyed(Quota::per_minute(requests_per_minute)).with_middleware(),
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

    /// Counts a sign-in by badge at a station.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn station(&self, station: Uuid) -> Result<(), ApiError> {
        wait(&self.stations, &station)
    }

    /// Counts a PIN of a person.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn pin(&self, person: Uuid) -> Result<(), ApiError> {
        wait(&self.pins, &person)
    }

    /// Counts an attempt without a login from an address.
    ///
    /// # Errors
    /// 429 with the seconds to wait.
    pub fn address(&self, address: &str) -> Result<(), ApiError> {
        wait(&self.addresses, &address.to_owned())
    }

    /// Counts a request of a caller: what is left, and 429 with the seconds to wait when nothing
    /// was.
    pub fn request(&self, person: Uuid) -> (Allowance, Result<(), ApiError>) {
        let checked = self.callers.check_key(&person);
        let (quota, remaining) = match &checked {
            Ok(state) => (state.quota(), state.remaining_burst_capacity()),
            Err(until) => (until.quota(), 0),
        };
        let allowance = Allowance {
            quota: quota.burst_size().get(),
            remaining,
        };
        (
            allowance,
            checked.map(|_| ()).map_err(|until| too_many(&until)),
        )
    }

    /// Forgets keys that have been quiet long enough to make no difference.
    pub fn forget_quiet(&self) {
        self.accounts.retain_recent();
        self.pins.retain_recent();
        self.stations.retain_recent();
        self.addresses.retain_recent();
        self.callers.retain_recent();
    }
}

fn wait<K: std::hash::Hash + Eq + Clone>(
    limiter: &DefaultKeyedRateLimiter<K>,
    key: &K,
) -> Result<(), ApiError> {
    limiter.check_key(key).map_err(|until| too_many(&until))
}

fn too_many(until: &NotUntil<<DefaultClock as Clock>::Instant>) -> ApiError {
    let wait = until.wait_time_from(DefaultClock::default().now());
    let seconds = u32::try_from(wait.as_secs())
        .unwrap_or(u32::MAX)
        .saturating_add(1);
    ApiError::new(&catalogue::TOO_MANY).retry_after(seconds)
}
