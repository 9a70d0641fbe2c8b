//! Medical device reports: which clock runs, and who gets the report (21 CFR 803, 806).

use jiff::civil::{Date, date};

use super::work_days::last_work_day_before;
use crate::word::words;

words! {
    /// What a facility is, as somebody decided and the record says; never assumed.
    FacilityStatus, "facility status" {
        /// A hospital, ambulatory surgical facility, nursing home, outpatient diagnostic or
        /// outpatient treatment facility (21 CFR 803.3).
        UserFacility = "user_facility",
        /// A physician's office, which is no device user facility (21 USC 360i(b)(6)).
        PhysicianOffice = "physician_office",
    }
}

words! {
    /// What happened.
    Event, "event" {
        /// A death.
        Death = "death",
        /// A serious injury (21 CFR 803.3).
        SeriousInjury = "serious_injury",
        /// A malfunction without death or serious injury.
        Malfunction = "malfunction",
    }
}

words! {
    /// Who gets a report.
    Recipient, "recipient" {
        /// The Food and Drug Administration.
        Fda = "fda",
        /// The manufacturer of the device.
        Manufacturer = "manufacturer",
    }
}

words! {
    /// Which clock runs.
    Rule, "rule" {
        /// A user facility's report of a death or serious injury.
        UserFacilityReport = "user_facility_report",
        /// A manufacturer's or importer's report of a correction or removal.
        CorrectionOrRemovalReport = "correction_or_removal_report",
        /// A manufacturer's report of a death, serious injury or malfunction.
        ManufacturerReport = "manufacturer_report",
        /// A manufacturer's report of an event that needs action against an unreasonable risk.
        ManufacturerUrgentReport = "manufacturer_urgent_report",
    }
}

/// How a clock counts.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clock {
    /// Monday through Friday, except federal holidays.
    WorkDays(u16),
    /// Every day.
    CalendarDays(u16),
}

impl Rule {
    /// The time the rule gives.
    #[must_use]
    pub const fn clock(self) -> Clock {
        match self {
            Self::UserFacilityReport | Self::CorrectionOrRemovalReport => Clock::WorkDays(10),
            Self::ManufacturerReport => Clock::CalendarDays(30),
            Self::ManufacturerUrgentReport => Clock::WorkDays(5),
        }
    }

    /// Where the rule stands.
    #[must_use]
    pub const fn source(self) -> &'static str {
        match self {
            Self::UserFacilityReport => "21 CFR 803.30(a)",
            Self::CorrectionOrRemovalReport => "21 CFR 806.10(b)",
            Self::ManufacturerReport | Self::ManufacturerUrgentReport => "21 CFR 803.10(c)",
        }
    }
}

/// Whether a facility has to report an event, and to whom.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Reporting {
    /// The rule asks for a report to these.
    Required(Vec<Recipient>),
    /// The rule asks for none; a report may be made all the same.
    Voluntary,
}

/// What 21 CFR 803.10(a) and 803.30(a) ask of a facility.
///
/// A death goes to FDA and, where known, the manufacturer; a serious injury goes to the
/// manufacturer, and to FDA only where the manufacturer is unknown.
#[must_use]
pub fn reporting(status: FacilityStatus, event: Event, manufacturer_known: bool) -> Reporting {
    use Recipient::{Fda, Manufacturer};
    match (status, event, manufacturer_known) {
        (FacilityStatus::PhysicianOffice, _, _) | (_, Event::Malfunction, _) => {
            Reporting::Voluntary
        }
        (_, Event::Death, true) => Reporting::Required(vec![Fda, Manufacturer]),
        (_, Event::SeriousInjury, true) => Reporting::Required(vec![Manufacturer]),
        (_, Event::Death | Event::SeriousInjury, false) => Reporting::Required(vec![Fda]),
    }
}

/// The annual report of a user facility (Form FDA 3419, 21 CFR 803.33).
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AnnualReport {
    /// 1 January of the next year, itself a holiday; the rule has no roll-forward.
    pub due_on: Date,
    /// The last work day before it: our own rule.
    pub remind_on: Date,
}

/// When the annual report on a year's events is due.
#[must_use]
pub fn annual_report(year: i16) -> AnnualReport {
    let due_on = date(year.saturating_add(1), 1, 1);
    AnnualReport {
        due_on,
        remind_on: last_work_day_before(due_on),
    }
}

/// A user facility's report number: facility number of ten digits, year, sequence of four digits
/// (21 CFR 803.3, 803.33(a)(5)); none where a part does not fit.
#[must_use]
pub fn report_number(facility_number: &str, year: i16, sequence: u16) -> Option<String> {
    let digits =
        facility_number.len() == 10 && facility_number.bytes().all(|byte| byte.is_ascii_digit());
    (digits && (1000..=9999).contains(&year) && (1..=9999).contains(&sequence))
        .then(|| format!("{facility_number}-{year}-{sequence:04}"))
}

#[cfg(test)]
mod tests {
    use super::*;

    // 21 CFR 803.30(a)(1), (2); 803.10(a) names deaths and serious injuries alone.
    #[test]
    fn a_death_goes_to_both_and_a_serious_injury_to_the_manufacturer() {
        use FacilityStatus::UserFacility;
        use Recipient::{Fda, Manufacturer};
        let to = |event, known| reporting(UserFacility, event, known);
        assert_eq!(
            to(Event::Death, true),
            Reporting::Required(vec![Fda, Manufacturer])
        );
        assert_eq!(to(Event::Death, false), Reporting::Required(vec![Fda]));
        assert_eq!(
            to(Event::SeriousInjury, true),
            Reporting::Required(vec![Manufacturer])
        );
        assert_eq!(
            to(Event::SeriousInjury, false),
            Reporting::Required(vec![Fda])
        );
        assert_eq!(to(Event::Malfunction, true), Reporting::Voluntary);
    }

    // 21 USC 360i(b)(6): a physician's office is no device user facility.
    #[test]
    fn a_physicians_office_reports_of_its_own_will() {
        let answer = reporting(FacilityStatus::PhysicianOffice, Event::Death, true);
        assert_eq!(answer, Reporting::Voluntary);
    }

    // 21 CFR 803.33(a): January 1. The day of the reminder is our own rule.
    #[test]
    fn the_annual_report_is_due_on_a_holiday_so_the_reminder_is_earlier() {
        let report = annual_report(2026);
        assert_eq!(report.due_on, date(2027, 1, 1));
        assert_eq!(report.remind_on, date(2026, 12, 31));
        // New Year 2028 is observed on Friday 2027-12-31 (5 USC 6103(b)).
        assert_eq!(annual_report(2027).remind_on, date(2027, 12, 30));
    }

    // 21 CFR 803.33(a)(5): provider number, year, sequence; the example is of the rule's form.
    #[test]
    fn a_report_number_has_ten_four_and_four_digits() {
        assert_eq!(
            report_number("1234567890", 2004, 1).as_deref(),
            Some("1234567890-2004-0001")
        );
        assert_eq!(report_number("123456789", 2004, 1), None);
        assert_eq!(report_number("1234567890", 2004, 0), None);
    }
}
