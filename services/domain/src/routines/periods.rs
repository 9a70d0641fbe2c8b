//! The periods of a check, in civil days of the facility.

use crate::word::words;
use jiff::civil::{Date, Weekday};
use std::collections::BTreeSet;

words! {
    /// How often a check is due.
    Every, "interval" {
        /// Each day.
        Day = "day",
        /// Each day that has a case.
        OperatingDay = "operating_day",
        /// Each week, from Monday through Sunday (ISO 8601).
        Week = "week",
        /// Each calendar month.
        Month = "month",
    }
}

words! {
    /// How a period of a check stands.
    PeriodState, "state of a check" {
        /// Done in its period.
        Done = "done",
        /// Written down after the period was over.
        Late = "late",
        /// Done, and the second person has not confirmed it.
        Unconfirmed = "unconfirmed",
        /// Not done, and the period is not over.
        Due = "due",
        /// Not done, and the period is over.
        Missed = "missed",
    }
}

/// A period of a check: both days belong to it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Period {
    /// Its first day.
    pub first: Date,
    /// Its last day.
    pub last: Date,
}

impl Every {
    /// The period that a day lies in.
    #[must_use]
    pub fn period(self, day: Date) -> Period {
        let (first, last) = match self {
            Self::Day | Self::OperatingDay => (day, day),
            Self::Week => {
                let back = i64::from(day.weekday().since(Weekday::Monday));
                let first = day.saturating_sub(jiff::Span::new().days(back));
                (first, first.saturating_add(jiff::Span::new().days(6)))
            }
            Self::Month => (day.first_of_month(), day.last_of_month()),
        };
        Period { first, last }
    }
}

/// When a check is asked for.
#[derive(Clone, Copy, Debug)]
pub struct Schedule<'a> {
    /// How often.
    pub every: Every,
    /// The first day.
    pub starts_on: Date,
    /// The day it ended; a period that was not over by then is not asked for.
    pub ended_on: Option<Date>,
    /// The days that have a case.
    pub operating: &'a BTreeSet<Date>,
}

impl Schedule<'_> {
    /// The periods with a day between two days, both included, in their order.
    #[must_use]
    pub fn periods(&self, from: Date, through: Date) -> Vec<Period> {
        let mut found: Vec<Period> = Vec::new();
        for day in from.max(self.starts_on).series(jiff::Span::new().days(1)) {
            if day > through {
                break;
            }
            if self.every == Every::OperatingDay && !self.operating.contains(&day) {
                continue;
            }
            let period = self.every.period(day);
            let asked = self.ended_on.is_none_or(|ended| period.last < ended);
            if asked && found.last() != Some(&period) {
                found.push(period);
            }
        }
        found
    }
}

impl Period {
    /// Whether a day belongs to it.
    #[must_use]
    pub fn has(&self, day: Date) -> bool {
        (self.first..=self.last).contains(&day)
    }

    /// How it stands with its records: whether each is late, and whether it is complete.
    #[must_use]
    pub fn state(&self, today: Date, records: &[(bool, bool)]) -> PeriodState {
        let complete = |late: bool| records.contains(&(late, true));
        if complete(false) {
            PeriodState::Done
        } else if complete(true) {
            PeriodState::Late
        } else if !records.is_empty() {
            PeriodState::Unconfirmed
        } else if self.last < today {
            PeriodState::Missed
        } else {
            PeriodState::Due
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn starts(every: Every, starts_on: Date, from: Date, through: Date) -> Vec<Date> {
        let operating = BTreeSet::from([date(2026, 3, 10), date(2026, 3, 12)]);
        let schedule = Schedule {
            every,
            starts_on,
            ended_on: None,
            operating: &operating,
        };
        let periods = schedule.periods(from, through);
        periods.iter().map(|period| period.first).collect()
    }

    // ISO 8601 weeks begin on Monday; 2026-03-10 is a Tuesday (GNU cal).
    #[test]
    fn a_check_is_due_once_in_each_of_its_periods() {
        let (from, through) = (date(2026, 3, 8), date(2026, 3, 12));
        let old = date(2025, 1, 1);
        assert_eq!(starts(Every::Day, old, from, through).len(), 5);
        assert_eq!(
            starts(Every::OperatingDay, old, from, through),
            [date(2026, 3, 10), date(2026, 3, 12)]
        );
        assert_eq!(
            starts(Every::Week, old, from, through),
            [date(2026, 3, 2), date(2026, 3, 9)]
        );
        let month = starts(Every::Month, date(2026, 2, 28), old, through);
        assert_eq!(month, [date(2026, 2, 1), date(2026, 3, 1)]);
        assert_eq!(
            Every::Month.period(date(2028, 2, 29)).last,
            date(2028, 2, 29)
        );
    }

    #[test]
    fn a_check_that_ended_is_not_asked_for_in_a_period_that_was_not_over() {
        let operating = BTreeSet::new();
        let schedule = Schedule {
            every: Every::Day,
            starts_on: date(2026, 3, 8),
            ended_on: Some(date(2026, 3, 10)),
            operating: &operating,
        };
        let periods = schedule.periods(date(2026, 3, 1), date(2026, 3, 31));
        assert_eq!(periods.len(), 2);
    }

    #[test]
    fn a_missed_check_stays_visible_and_a_late_one_says_so() {
        let period = Every::Day.period(date(2026, 3, 9));
        let state = |today, records: &[(bool, bool)]| period.state(today, records);
        assert_eq!(state(date(2026, 3, 9), &[]), PeriodState::Due);
        assert_eq!(state(date(2026, 3, 10), &[]), PeriodState::Missed);
        assert_eq!(state(date(2026, 3, 10), &[(true, true)]), PeriodState::Late);
        assert_eq!(
            state(date(2026, 3, 10), &[(false, false)]),
            PeriodState::Unconfirmed
        );
        assert_eq!(
            state(date(2026, 3, 10), &[(true, true), (false, true)]),
            PeriodState::Done
        );
    }
}
