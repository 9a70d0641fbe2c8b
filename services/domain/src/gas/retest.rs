//! The retest mark of a cylinder (49 CFR 180.209, 180.213).

use jiff::ToSpan;
use jiff::civil::Date;

/// A retest mark as stamped: month and year, with or without a star.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct RetestMark {
    /// Any day of the stamped month.
    pub month: Date,
    /// A five-pointed star: ten years instead of five (49 CFR 180.209(b), from memory).
    pub star: bool,
}

/// What a fill date says about a mark.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FillFinding {
    /// The mark is current on the day asked about.
    Current,
    /// The mark has run out since the fill; the cylinder may stay in service until it is empty
    /// and is not refilled (49 CFR 180.205(c), from memory).
    DueSinceFill,
    /// The mark had run out when the cylinder was filled.
    OverdueAtFill,
}

impl RetestMark {
    /// The last day of the mark: the last day of its month, five or ten years on.
    #[must_use]
    pub fn due_on(self) -> Date {
        retest_due(self.month, if self.star { 10 } else { 5 })
    }

    /// What the mark says of a cylinder filled on one day and looked at on another.
    #[must_use]
    pub fn judge(self, filled_on: Date, today: Date) -> FillFinding {
        let due_on = self.due_on();
        if filled_on > due_on {
            FillFinding::OverdueAtFill
        } else if today > due_on {
            FillFinding::DueSinceFill
        } else {
            FillFinding::Current
        }
    }
}

/// The last day of a mark of so many years; 49 CFR 180.209(a) table 1 has 5, 10 and 12.
#[must_use]
pub fn retest_due(month: Date, years: i32) -> Date {
    month.saturating_add(years.years()).last_of_month()
}

/// The pressure to which a cylinder may be filled at 70 degrees Fahrenheit, in psi: its service
/// pressure, with a plus after the test date 10 % more (49 CFR 173.302a(b), from memory).
#[must_use]
pub fn filling_limit_psi(service_psi: f64, plus: bool) -> f64 {
    if plus { service_psi * 1.1 } else { service_psi }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    // 49 CFR 180.209(a), (b): five years, with a star ten; the last day of the month is a convention.
    #[test]
    fn a_star_makes_five_years_ten() {
        let month = date(2019, 3, 1);
        assert_eq!(
            RetestMark { month, star: false }.due_on(),
            date(2024, 3, 31)
        );
        assert_eq!(RetestMark { month, star: true }.due_on(), date(2029, 3, 31));
    }

    // 49 CFR 180.205(c), from memory: filled before its due date, in service until emptied.
    #[test]
    fn a_cylinder_filled_in_time_stays_in_service_until_empty() {
        let mark = RetestMark {
            month: date(2019, 3, 1),
            star: false,
        };
        assert_eq!(
            mark.judge(date(2024, 3, 31), date(2024, 3, 31)),
            FillFinding::Current
        );
        assert_eq!(
            mark.judge(date(2024, 3, 31), date(2024, 4, 1)),
            FillFinding::DueSinceFill
        );
        assert_eq!(
            mark.judge(date(2024, 4, 1), date(2024, 4, 2)),
            FillFinding::OverdueAtFill
        );
    }

    // 49 CFR 173.302a(b), from memory: 3AA2015 with a plus is filled to 2,216.5 psi.
    #[test]
    fn a_plus_is_ten_percent_more() {
        assert!((filling_limit_psi(2015.0, true) - 2216.5).abs() < 1e-9);
        assert!((filling_limit_psi(2015.0, false) - 2015.0).abs() < 1e-9);
    }
}
