//! How much is measured.

/// The whole measurement, or a short one that only shows that everything runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Size {
    Whole,
    Quick,
}

impl Size {
    /// `LOTWARDEN_BENCH_QUICK=1` asks for the short one.
    pub fn asked() -> Self {
        match std::env::var("LOTWARDEN_BENCH_QUICK") {
            Ok(value) if value == "1" => Self::Quick,
            _ => Self::Whole,
        }
    }

    /// One of two values.
    pub fn pick<T>(self, whole: T, quick: T) -> T {
        match self {
            Self::Whole => whole,
            Self::Quick => quick,
        }
    }
}
