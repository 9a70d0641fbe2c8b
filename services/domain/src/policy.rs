//! A site's own settings for the rules, each with its source.

use serde::{Deserialize, Serialize};

/// The settings of the rules that a site may choose; every change is a ledger entry.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct SitePolicy {
    /// Days before the expiry date within which a scan is shown as expiring soon.
    pub expires_soon_days: u16,
    /// Days before the expiry date within which a receipt is flagged as short-dated.
    pub short_dated_days: u16,
    /// Whether the site keeps stock, so that an item that was never received is shown.
    pub keeps_stock: bool,
    /// Minutes without use after which a page locks and a session is not renewed: 1 to 60.
    pub idle_lock_minutes: u16,
    /// Whether equipment with a calibration, maintenance or filter that is due is kept off a case.
    pub due_equipment_stops: bool,
    /// Seconds that a station's clock may be off before its held scans say so: 1 to 3600.
    pub clock_skew_seconds: u16,
}

impl Default for SitePolicy {
    /// 30 days, 182 days (six months) and stock kept: common practice, no source. 15 minutes: NIST SP
    /// 800-63B-4, 2.2.3 asks for an hour at most; a terminal that several people share locks sooner.
    /// What is due is shown and does not stop: common practice, no source.
    /// Two minutes for a clock: common practice, no source.
    fn default() -> Self {
        Self {
            expires_soon_days: 30,
            short_dated_days: 182,
            keeps_stock: true,
            idle_lock_minutes: 15,
            due_equipment_stops: false,
            clock_skew_seconds: 120,
        }
    }
}
