//! Times of many repetitions.

use std::time::Duration;

/// Durations gathered from one kind of work.
#[derive(Default)]
pub struct Times(Vec<Duration>);

impl Times {
    pub fn push(&mut self, time: Duration) {
        self.0.push(time);
    }

    pub fn extend(&mut self, other: Times) {
        self.0.extend(other.0);
    }

    pub fn len(&self) -> usize {
        self.0.len()
    }

    /// Milliseconds that the given share of the repetitions stayed within.
    pub fn quantile(&mut self, share: f64) -> f64 {
        self.0.sort_unstable();
        let last = self.0.len().saturating_sub(1);
        let at = (share * last as f64).round() as usize;
        self.0
            .get(at)
            .map_or(0.0, |time| round(time.as_secs_f64() * 1000.0, 3))
    }
}

/// A figure with so many decimals.
pub fn round(value: f64, decimals: i32) -> f64 {
    let scale = 10_f64.powi(decimals);
    (value * scale).round() / scale
}
