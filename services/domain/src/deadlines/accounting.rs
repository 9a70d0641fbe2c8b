//! The accounting of disclosures that an individual asks for (45 CFR 164.528).

use jiff::ToSpan;
use jiff::civil::Date;

/// When an accounting is due and how far back it reaches.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct DisclosureAccounting {
    /// 60 days after the request (164.528(c)(1), from memory).
    pub due_on: Date,
    /// 30 days more, once, with a written reason (164.528(c)(1)(ii), from memory).
    pub extended_due_on: Date,
    /// The first day it covers: six years before the request (164.528(a)(1)).
    pub look_back_from: Date,
}

/// The days of an accounting asked for on a day.
#[must_use]
pub fn disclosure_accounting(requested_on: Date) -> DisclosureAccounting {
    DisclosureAccounting {
        due_on: requested_on.saturating_add(60.days()),
        extended_due_on: requested_on.saturating_add(90.days()),
        look_back_from: requested_on.saturating_sub(6.years()),
    }
}

#[cfg(test)]
mod tests {
    use jiff::civil::date;

    use super::*;

    // 45 CFR 164.528: 60 days, 30 more, six years; worked out apart from this code.
    #[test]
    fn an_accounting_is_due_in_sixty_days_and_reaches_six_years_back() {
        assert_eq!(
            disclosure_accounting(date(2026, 3, 2)),
            DisclosureAccounting {
                due_on: date(2026, 5, 1),
                extended_due_on: date(2026, 5, 31),
                look_back_from: date(2020, 3, 2),
            }
        );
    }
}
