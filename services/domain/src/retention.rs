//! Until when the records of a case are kept: the latest of every rule that applies.

use jiff::ToSpan;
use jiff::civil::Date;

use crate::word::words;

words! {
    /// A rule that keeps a record.
    Rule, "retention rule" {
        /// The state's years for medical records, from the case.
        StateMedicalRecord = "state_medical_record",
        /// Six years from creation or the day last in effect (45 CFR 164.316(b)(2)(i)).
        RequiredDocumentation = "required_documentation",
        /// Two years from the event (21 CFR 803.18(c)).
        DeviceReportFile = "device_report_file",
        /// The useful life of a tracked device (21 CFR 821.60).
        TrackedDevice = "tracked_device",
        /// Somebody ordered the record to be kept until a day.
        LegalHold = "legal_hold",
    }
}

impl Rule {
    /// Where the rule stands.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::StateMedicalRecord => "the state's rule on medical records, as entered",
            Self::RequiredDocumentation => "45 CFR 164.316(b)(2)(i)",
            Self::DeviceReportFile => "21 CFR 803.18(c)",
            Self::TrackedDevice => "21 CFR 821.60",
            Self::LegalHold => "the order to keep the record, as entered",
        }
    }
}

/// What is said beside the dates.
pub const CAUTION: &str =
    "State rules, contracts, orders to keep a record and tracked devices can ask for longer.";

/// What the dates depend on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Facts {
    /// The day of the case.
    pub case_on: Date,
    /// The state's years for medical records; none where nobody entered them.
    pub state_medical_record_years: Option<u16>,
    /// The last day on which a document of the case was in effect; its creation where none.
    pub last_in_effect_on: Option<Date>,
    /// The day of a reported or considered device event.
    pub device_event_on: Option<Date>,
    /// The last day of a tracked device's useful life.
    pub tracked_device_life_until: Option<Date>,
    /// The last day of a legal hold that has one.
    pub legal_hold_until: Option<Date>,
}

/// The last day that each applicable rule keeps the record, in the order of the rules.
///
/// A year from 29 February ends on 28 February.
#[must_use]
pub fn kept_until(facts: &Facts) -> Vec<(Rule, Date)> {
    let after = |day: Date, years: u16| day.saturating_add(i32::from(years).years());
    [
        (
            Rule::StateMedicalRecord,
            facts
                .state_medical_record_years
                .map(|years| after(facts.case_on, years)),
        ),
        (
            Rule::RequiredDocumentation,
            Some(after(
                facts
                    .last_in_effect_on
                    .map_or(facts.case_on, |day| day.max(facts.case_on)),
                6,
            )),
        ),
        (
            Rule::DeviceReportFile,
            facts.device_event_on.map(|day| after(day, 2)),
        ),
        (Rule::TrackedDevice, facts.tracked_device_life_until),
        (Rule::LegalHold, facts.legal_hold_until),
    ]
    .into_iter()
    .filter_map(|(rule, day)| Some((rule, day?)))
    .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    fn facts() -> Facts {
        Facts {
            case_on: date(2026, 3, 2),
            state_medical_record_years: Some(7),
            last_in_effect_on: None,
            device_event_on: Some(date(2026, 4, 14)),
            tracked_device_life_until: None,
            legal_hold_until: None,
        }
    }

    fn latest(facts: &Facts) -> (Rule, Date) {
        kept_until(facts)
            .into_iter()
            .max_by_key(|(_, day)| *day)
            .unwrap()
    }

    // 45 CFR 164.316(b)(2)(i) and 21 CFR 803.18(c); the state's seven years are an example.
    #[test]
    fn the_latest_rule_decides() {
        assert_eq!(
            kept_until(&facts()),
            [
                (Rule::StateMedicalRecord, date(2033, 3, 2)),
                (Rule::RequiredDocumentation, date(2032, 3, 2)),
                (Rule::DeviceReportFile, date(2028, 4, 14)),
            ]
        );
        assert_eq!(
            latest(&facts()),
            (Rule::StateMedicalRecord, date(2033, 3, 2))
        );
    }

    // 21 CFR 821.60; a hold is the facility's own.
    #[test]
    fn a_tracked_device_or_a_hold_keeps_longer() {
        let tracked = Facts {
            tracked_device_life_until: Some(date(2041, 1, 1)),
            ..facts()
        };
        assert_eq!(latest(&tracked), (Rule::TrackedDevice, date(2041, 1, 1)));
        let held = Facts {
            legal_hold_until: Some(date(2050, 6, 30)),
            ..facts()
        };
        assert_eq!(latest(&held), (Rule::LegalHold, date(2050, 6, 30)));
    }

    // 45 CFR 164.316(b)(2)(i): from creation or the date last in effect, whichever is later.
    #[test]
    fn six_years_count_from_the_day_last_in_effect() {
        let lasting = Facts {
            last_in_effect_on: Some(date(2029, 1, 1)),
            ..facts()
        };
        assert_eq!(
            latest(&lasting),
            (Rule::RequiredDocumentation, date(2035, 1, 1))
        );
    }
}
