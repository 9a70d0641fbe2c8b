//! Equipment: what kinds there are, and how much of a filter is used.

use crate::word::words;
use rust_decimal::Decimal;

words! {
    /// What a piece of equipment is for.
    EquipmentKind, "kind of equipment" {
        /// Makes the energy that a handpiece gives.
        Generator = "generator",
        /// Moves a cannula.
        VibrationDrive = "vibration_drive",
        /// Draws smoke through a filter.
        SmokeEvacuator = "smoke_evacuator",
        /// Measures a temperature.
        Thermometer = "thermometer",
        /// Anything else that is used on a case and comes back.
        Other = "other",
    }
}

words! {
    /// How a thermometer measures: types differ by degrees on the same skin (Key, J Drugs Dermatol
    /// 2014;13:185).
    ThermometerType, "type of thermometer" {
        /// By touch.
        Contact = "contact",
        /// One spot by infrared.
        InfraredSpot = "infrared_spot",
        /// A picture by infrared.
        InfraredCamera = "infrared_camera",
    }
}

words! {
    /// What is done to equipment at an interval.
    ServiceKind, "kind of service" {
        /// Preventive maintenance.
        Maintenance = "maintenance",
        /// Calibration against a reference.
        Calibration = "calibration",
    }
}

words! {
    /// What a calibration found before anything was adjusted.
    AsFound, "result as found" {
        /// Within the limits.
        InTolerance = "in_tolerance",
        /// Outside them: what it measured since its last calibration is in doubt.
        OutOfTolerance = "out_of_tolerance",
    }
}

/// A maker's life of a filter, and what of it is used.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FilterLife {
    /// In hours of running.
    Hours {
        /// The life.
        life: Decimal,
        /// Hours used since it was put in.
        used: Decimal,
        /// What the site expects a case to use.
        case: Option<Decimal>,
    },
    /// In cases.
    Cases {
        /// The life.
        life: u32,
        /// Cases since it was put in.
        used: u32,
    },
}

/// How a filter stands before a case.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FilterState {
    /// The case fits into what is left.
    Lasts,
    /// The case may need more than is left.
    ShortForACase,
    /// Its life is over.
    Spent,
}

impl FilterLife {
    /// How the filter stands before one more case.
    #[must_use]
    pub fn state(self) -> FilterState {
        match self {
            Self::Hours { life, used, .. } if used >= life => FilterState::Spent,
            Self::Hours { life, used, case } if used + case.unwrap_or_default() > life => {
                FilterState::ShortForACase
            }
            Self::Cases { life, used } if used >= life => FilterState::Spent,
            Self::Hours { .. } | Self::Cases { .. } => FilterState::Lasts,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn hours(used: &str, case: Option<&str>) -> FilterState {
        let number = |text: &str| text.parse().unwrap();
        FilterLife::Hours {
            life: number("8"),
            used: number(used),
            case: case.map(number),
        }
        .state()
    }

    // Counter test of the trade: life 8 h, used 7.6 h, a case of 0.5 h warns before the case.
    #[test]
    fn a_filter_that_a_case_would_outlast_is_named_before_the_case() {
        assert_eq!(hours("7.6", Some("0.5")), FilterState::ShortForACase);
        assert_eq!(hours("7.5", Some("0.5")), FilterState::Lasts);
        assert_eq!(hours("7.6", None), FilterState::Lasts);
        assert_eq!(hours("8", None), FilterState::Spent);
    }

    // Used for as many cases as its life says: common practice, no source.
    #[test]
    fn a_filter_by_cases_lasts_for_as_many() {
        let state = |used| FilterLife::Cases { life: 10, used }.state();
        assert_eq!(state(9), FilterState::Lasts);
        assert_eq!(state(10), FilterState::Spent);
    }
}
