//! Counting work days: Monday through Friday, except federal holidays (21 CFR 803.3(y)).

use jiff::ToSpan;
use jiff::civil::{Date, Weekday};

use super::holidays::{Holiday, observed_holiday};

/// Why a day did not count.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Skipped {
    /// A Saturday or Sunday.
    Weekend(Weekday),
    /// A federal holiday as observed, on a weekday.
    Holiday(Holiday),
}

/// A due day and the days on the way that did not count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Deadline {
    /// The last day in time.
    pub due_on: Date,
    /// The days after the first and before the due day that did not count, in order.
    pub skipped: Vec<(Date, Skipped)>,
}

/// Why a day is no work day; none where it is one.
#[must_use]
pub fn not_a_work_day(day: Date) -> Option<Skipped> {
    match day.weekday() {
        weekend @ (Weekday::Saturday | Weekday::Sunday) => Some(Skipped::Weekend(weekend)),
        _ => observed_holiday(day).map(Skipped::Holiday),
    }
}

/// The so-manieth work day after a day; the day itself never counts, even at one minute past
/// midnight. Zero work days is the day itself.
#[must_use]
pub fn after_work_days(day: Date, work_days: u16) -> Deadline {
    let mut due_on = day;
    let mut skipped = Vec::new();
    let mut counted = 0;
    while counted < work_days {
        due_on = due_on.saturating_add(1.day());
        match not_a_work_day(due_on) {
            Some(reason) => skipped.push((due_on, reason)),
            None => counted += 1,
        }
    }
    Deadline { due_on, skipped }
}

/// The last work day before a day.
#[must_use]
pub fn last_work_day_before(day: Date) -> Date {
    let mut before = day.saturating_sub(1.day());
    while not_a_work_day(before).is_some() {
        before = before.saturating_sub(1.day());
    }
    before
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;
    use proptest::prelude::*;

    use super::*;

    // 21 CFR 803.30(a), 803.3(y) and 5 USC 6103: worked out apart from this code.
    // Aware, ten work days, five work days.
    const COUNTED: [(&str, &str, &str); 16] = [
        ("2026-01-02", "2026-01-16", "2026-01-09"),
        ("2026-01-16", "2026-02-02", "2026-01-26"),
        ("2026-02-27", "2026-03-13", "2026-03-06"),
        ("2026-03-02", "2026-03-16", "2026-03-09"),
        ("2026-06-13", "2026-06-29", "2026-06-22"),
        ("2026-06-18", "2026-07-06", "2026-06-26"),
        ("2026-06-26", "2026-07-13", "2026-07-06"),
        ("2026-09-04", "2026-09-21", "2026-09-14"),
        ("2026-11-13", "2026-11-30", "2026-11-20"),
        ("2026-12-18", "2027-01-05", "2026-12-28"),
        ("2026-12-31", "2027-01-15", "2027-01-08"),
        ("2027-12-17", "2028-01-04", "2027-12-27"),
        ("2027-12-23", "2028-01-10", "2028-01-03"),
        ("2025-12-24", "2026-01-09", "2026-01-02"),
        // The same, from the Saturday and the Sunday before a Monday: the count starts on Monday.
        ("2026-02-28", "2026-03-13", "2026-03-06"),
        ("2026-03-01", "2026-03-13", "2026-03-06"),
    ];

    #[test]
    fn ten_and_five_work_days_are_counted_without_weekends_and_federal_holidays() {
        for (aware, ten, five) in COUNTED {
            let aware: Date = aware.parse().unwrap();
            assert_eq!(
                after_work_days(aware, 10).due_on.to_string(),
                ten,
                "{aware}"
            );
            assert_eq!(
                after_work_days(aware, 5).due_on.to_string(),
                five,
                "{aware}"
            );
        }
    }

    // 5 USC 6103: the third Monday of January 2026 is the 19th.
    #[test]
    fn the_days_skipped_are_named() {
        let holidays: Vec<_> = after_work_days(date(2026, 1, 16), 10)
            .skipped
            .into_iter()
            .filter(|(_, reason)| matches!(reason, Skipped::Holiday(_)))
            .collect();
        assert_eq!(
            holidays,
            [(
                date(2026, 1, 19),
                Skipped::Holiday(Holiday::MartinLutherKingJr)
            )]
        );
    }

    proptest! {
        // Identity: every day after the first up to the due day was counted or skipped.
        #[test]
        fn counted_and_skipped_days_make_the_whole_time(offset in 0..36_500_i32, work_days in 1..60_u16) {
            let from = date(1990, 1, 1).saturating_add(offset.days());
            let deadline = after_work_days(from, work_days);
            let whole = from.until(deadline.due_on).unwrap().get_days();
            prop_assert_eq!(whole, i32::from(work_days) + i32::try_from(deadline.skipped.len()).unwrap());
            prop_assert_eq!(not_a_work_day(deadline.due_on), None);
        }
    }
}
