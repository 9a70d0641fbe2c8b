//! Gas cylinders: what is left by the gauge, what was used by flow and time, and marks and states.

mod cylinder;
mod gauge;
mod helium;
mod retest;
mod used;

pub use cylinder::{CylinderFacts, CylinderFinding, CylinderState, Gas, judge_cylinder};
pub use gauge::{Band, Cylinder, Gauge, bar_from_psi};
pub use helium::{
    ATMOSPHERE_BAR, ICE_POINT_KELVIN, REFERENCE_KELVIN, compressibility, litres_per_water_litre,
};
pub use retest::{FillFinding, RetestMark, filling_limit_psi, retest_due};
pub use used::{FlowTime, litres_used};
