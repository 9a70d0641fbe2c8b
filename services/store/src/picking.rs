//! What has to be taken from which place for a case, and whether a case can be set up: computed
//! from the list, the stock, outdates, holds, notices, gas, equipment and routine checks; never
//! kept.

mod bins;
mod readiness;
mod show_picking;

pub use readiness::{CaseReadiness, readiness};
pub use show_picking::{PickFrom, PickingLine, PickingList, show_picking};
