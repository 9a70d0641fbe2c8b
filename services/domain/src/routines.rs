//! Routine checks of the site: which periods they are due in, and what of a value is in its limits.

mod asked;
mod periods;

pub use asked::{Asked, AskedKind, NotOfItsKind};
pub use periods::{Every, Period, PeriodState, Schedule};
