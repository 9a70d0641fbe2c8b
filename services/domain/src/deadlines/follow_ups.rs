//! The follow-ups of a case.

use jiff::ToSpan;
use jiff::civil::Date;

/// A follow-up that the site's list asks for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct FollowUp {
    /// What the site calls it.
    pub name: String,
    /// The day it is due.
    pub due_on: Date,
    /// The day it was done.
    pub done_on: Option<Date>,
}

/// The follow-ups of a case on a day, by the site's list of names and days after the case.
#[must_use]
pub fn follow_ups(case_on: Date, list: &[(&str, u16)]) -> Vec<FollowUp> {
    list.iter()
        .map(|(name, days)| FollowUp {
            name: (*name).to_owned(),
            due_on: case_on.saturating_add(i32::from(*days).days()),
            done_on: None,
        })
        .collect()
}

/// The follow-ups that were due before a day and are not done.
#[must_use]
pub fn overdue(follow_ups: &[FollowUp], today: Date) -> Vec<&FollowUp> {
    follow_ups
        .iter()
        .filter(|each| each.done_on.is_none() && each.due_on < today)
        .collect()
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    // Next day and six weeks: common practice, no source; each site has its own list.
    #[test]
    fn follow_ups_are_due_the_next_day_and_after_six_weeks() {
        let mut due = follow_ups(date(2026, 3, 2), &[("next day", 1), ("six weeks", 42)]);
        let days: Vec<_> = due.iter().map(|each| each.due_on).collect();
        assert_eq!(days, [date(2026, 3, 3), date(2026, 4, 13)]);
        assert!(overdue(&due, date(2026, 3, 3)).is_empty());
        assert_eq!(overdue(&due, date(2026, 3, 4)), [&due[0]]);
        due[0].done_on = Some(date(2026, 3, 3));
        assert!(overdue(&due, date(2026, 3, 4)).is_empty());
    }
}
