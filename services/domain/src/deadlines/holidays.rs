//! The federal holidays of the United States as observed (5 USC 6103).
//!
//! Inauguration Day and closures ordered for one day are left out: leaving them out gives the
//! earlier, safer date.

use jiff::ToSpan;
use jiff::civil::{Date, Weekday, date};

use crate::word::words;

/// The first year asked about: the birthday of Martin Luther King, Jr. was first kept in it.
pub const FIRST_YEAR: i16 = 1986;

words! {
    /// A federal holiday by its name in 5 USC 6103(a).
    Holiday, "federal holiday" {
        /// 1 January.
        NewYearsDay = "New Year's Day",
        /// Third Monday of January.
        MartinLutherKingJr = "Birthday of Martin Luther King, Jr.",
        /// Third Monday of February.
        WashingtonsBirthday = "Washington's Birthday",
        /// Last Monday of May.
        MemorialDay = "Memorial Day",
        /// 19 June, from 2021 on (Public Law 117-17).
        Juneteenth = "Juneteenth National Independence Day",
        /// 4 July.
        IndependenceDay = "Independence Day",
        /// First Monday of September.
        LaborDay = "Labor Day",
        /// Second Monday of October.
        ColumbusDay = "Columbus Day",
        /// 11 November.
        VeteransDay = "Veterans Day",
        /// Fourth Thursday of November.
        ThanksgivingDay = "Thanksgiving Day",
        /// 25 December.
        ChristmasDay = "Christmas Day",
    }
}

impl Holiday {
    /// The day it falls on in a year, before any shift; none where it was not a holiday yet.
    fn falls_on(self, year: i16) -> Option<Date> {
        let nth =
            |month, nth, weekday| date(year, month, 1).nth_weekday_of_month(nth, weekday).ok();
        match self {
            Self::NewYearsDay => Some(date(year, 1, 1)),
            Self::MartinLutherKingJr => nth(1, 3, Weekday::Monday),
            Self::WashingtonsBirthday => nth(2, 3, Weekday::Monday),
            Self::MemorialDay => nth(5, -1, Weekday::Monday),
            Self::Juneteenth => (year >= 2021).then(|| date(year, 6, 19)),
            Self::IndependenceDay => Some(date(year, 7, 4)),
            Self::LaborDay => nth(9, 1, Weekday::Monday),
            Self::ColumbusDay => nth(10, 2, Weekday::Monday),
            Self::VeteransDay => Some(date(year, 11, 11)),
            Self::ThanksgivingDay => nth(11, 4, Weekday::Thursday),
            Self::ChristmasDay => Some(date(year, 12, 25)),
        }
    }

    /// The day it is observed: a Saturday's on the Friday before, a Sunday's on the Monday after
    /// (5 USC 6103(b), Executive Order 11582).
    fn observed_on(self, year: i16) -> Option<Date> {
        let day = self.falls_on(year)?;
        Some(match day.weekday() {
            Weekday::Saturday => day.saturating_sub(1.day()),
            Weekday::Sunday => day.saturating_add(1.day()),
            _ => day,
        })
    }
}

/// The eleven federal holidays of a year with the days they are observed, in order.
///
/// The first may be observed in the year before: New Year 2028 on 2027-12-31.
#[must_use]
pub fn federal_holidays(year: i16) -> Vec<(Date, Holiday)> {
    Holiday::ALL
        .iter()
        .filter_map(|holiday| Some((holiday.observed_on(year)?, *holiday)))
        .collect()
}

/// The federal holiday observed on a day.
#[must_use]
pub fn observed_holiday(day: Date) -> Option<Holiday> {
    let of_year = |year| {
        Holiday::ALL
            .iter()
            .copied()
            .find(|each| each.observed_on(year) == Some(day))
    };
    // Only the last day of December can belong to the year after.
    of_year(day.year()).or_else(|| {
        (day.month() == 12
            && day.day() == 31
            && Holiday::NewYearsDay.observed_on(day.year() + 1) == Some(day))
        .then_some(Holiday::NewYearsDay)
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    // 5 USC 6103; worked out apart from this code, and by PyPI `holidays` in tests/conformance.
    const OBSERVED: &str = "
        2025-01-01 2025-01-20 2025-02-17 2025-05-26 2025-06-19 2025-07-04 2025-09-01 2025-10-13 2025-11-11 2025-11-27 2025-12-25
        2026-01-01 2026-01-19 2026-02-16 2026-05-25 2026-06-19 2026-07-03 2026-09-07 2026-10-12 2026-11-11 2026-11-26 2026-12-25
        2027-01-01 2027-01-18 2027-02-15 2027-05-31 2027-06-18 2027-07-05 2027-09-06 2027-10-11 2027-11-11 2027-11-25 2027-12-24
        2027-12-31 2028-01-17 2028-02-21 2028-05-29 2028-06-19 2028-07-04 2028-09-04 2028-10-09 2028-11-10 2028-11-23 2028-12-25
        2029-01-01 2029-01-15 2029-02-19 2029-05-28 2029-06-19 2029-07-04 2029-09-03 2029-10-08 2029-11-12 2029-11-22 2029-12-25
        2030-01-01 2030-01-21 2030-02-18 2030-05-27 2030-06-19 2030-07-04 2030-09-02 2030-10-14 2030-11-11 2030-11-28 2030-12-25";

    #[test]
    fn the_holidays_of_six_years_are_those_observed() {
        let computed: Vec<_> = (2025..=2030)
            .flat_map(federal_holidays)
            .map(|(day, _)| day.to_string())
            .collect();
        assert_eq!(computed, OBSERVED.split_whitespace().collect::<Vec<_>>());
    }

    // 5 USC 6103(b): 1 January 2028 is a Saturday.
    #[test]
    fn a_new_year_may_be_observed_in_the_year_before() {
        assert_eq!(
            observed_holiday(date(2027, 12, 31)),
            Some(Holiday::NewYearsDay)
        );
        assert_eq!(observed_holiday(date(2026, 12, 31)), None);
        assert_eq!(observed_holiday(date(2028, 1, 1)), None);
    }

    // Public Law 117-17 of 17 June 2021.
    #[test]
    fn juneteenth_is_kept_from_2021_on() {
        assert_eq!(observed_holiday(date(2020, 6, 19)), None);
        assert_eq!(
            observed_holiday(date(2021, 6, 18)),
            Some(Holiday::Juneteenth)
        );
    }
}
