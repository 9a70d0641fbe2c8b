//! Sterilizer loads: which are suspect after a positive biological indicator.

mod suspect;

pub use suspect::{AfterPositive, Biological, PositivePolicy, after_positive, suspect_loads};

use crate::word::words;

words! {
    /// What a cycle is run for.
    LoadKind, "kind of load" {
        /// Wrapped packs for stock.
        Terminal = "terminal",
        /// One patient at once, for a reason.
        ImmediateUse = "immediate_use",
    }
}

words! {
    /// What shows whether a cycle did its work.
    IndicatorKind, "kind of indicator" {
        /// The sterilizer's own monitor, its print reviewed.
        Mechanical = "mechanical",
        /// A chemical indicator.
        Chemical = "chemical",
        /// Spores.
        Biological = "biological",
    }
}

words! {
    /// What an indicator showed.
    IndicatorResult, "result of an indicator" {
        /// A mechanical or chemical one that passed.
        Good = "good",
        /// A mechanical or chemical one that did not.
        NotGood = "not_good",
        /// A biological one without growth.
        Negative = "negative",
        /// A biological one with growth.
        Positive = "positive",
    }
}

impl IndicatorResult {
    /// Whether an indicator of the kind can show it.
    #[must_use]
    pub const fn fits(self, kind: IndicatorKind) -> bool {
        let biological = matches!(self, Self::Negative | Self::Positive);
        biological == matches!(kind, IndicatorKind::Biological)
    }
}
