//! Sterilizer loads: which are suspect after a positive biological indicator.

mod suspect;

pub use suspect::{AfterPositive, Biological, PositivePolicy, after_positive, suspect_loads};
