//! Until when an ingredient, a vial and a mix may be used.

use jiff::civil::{Date, DateTime, Time};
use jiff::{SignedDuration, ToSpan};

/// Days of a multi-dose vial after its first puncture, unless its maker says otherwise
/// (USP <797> section 15.2, from memory; CDC, injection safety).
pub const MULTI_DOSE_DAYS: u16 = 28;

/// What the last day of a vial depends on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VialDays {
    /// The last day printed on the label; none where it has none.
    pub expires_on: Option<Date>,
    /// The day of the first puncture; none for a vial not entered before.
    pub punctured_on: Option<Date>,
    /// The maker's days in use, which take the place of the 28.
    pub in_use_days: Option<u16>,
}

/// The last day of a vial: the earlier of the label's day and the days after the first puncture.
///
/// None where neither is known. The day itself is included.
#[must_use]
pub fn last_day_of_vial(vial: VialDays) -> Option<Date> {
    let days = i32::from(vial.in_use_days.unwrap_or(MULTI_DOSE_DAYS));
    let opened = vial.punctured_on.map(|day| day.saturating_add(days.days()));
    [vial.expires_on, opened].into_iter().flatten().min()
}

/// The last day of a label that prints a month alone: the month's last day.
#[must_use]
pub fn last_day_of_label(year: i16, month: i8) -> Option<Date> {
    Some(Date::new(year, month, 1).ok()?.last_of_month())
}

/// The latest start of administration, a time after the start of preparation.
#[must_use]
pub fn start_within(started_at: DateTime, within: SignedDuration) -> DateTime {
    started_at.saturating_add(within)
}

/// When a mix is past its use: the latest start, or the end of the earliest ingredient's last
/// day where that comes first.
#[must_use]
pub fn use_by(latest_start: DateTime, last_days: impl IntoIterator<Item = Date>) -> DateTime {
    last_days
        .into_iter()
        .map(|day| day.saturating_add(1.day()).to_datetime(Time::midnight()))
        .fold(latest_start, DateTime::min)
}

#[cfg(test)]
mod tests {
    use jiff::civil::{date, datetime};

    use super::*;

    const FOUR_HOURS: SignedDuration = SignedDuration::from_hours(4);

    // USP <797> section 15.2, from memory, and CDC's injection-safety questions: 28 days.
    #[test]
    fn a_punctured_vial_lasts_28_days() {
        let vial = VialDays {
            expires_on: None,
            punctured_on: Some(date(2026, 3, 2)),
            in_use_days: None,
        };
        assert_eq!(last_day_of_vial(vial), Some(date(2026, 3, 30)));
    }

    // The earliest of label, puncture and the maker's days: USP <797> section 15.2, from memory.
    #[test]
    fn the_label_and_the_maker_can_end_a_vial_earlier() {
        let vial = VialDays {
            expires_on: Some(date(2026, 3, 20)),
            punctured_on: Some(date(2026, 3, 2)),
            in_use_days: None,
        };
        assert_eq!(last_day_of_vial(vial), Some(date(2026, 3, 20)));
        let maker = VialDays {
            in_use_days: Some(7),
            ..vial
        };
        assert_eq!(last_day_of_vial(maker), Some(date(2026, 3, 9)));
        let nothing = VialDays {
            expires_on: None,
            punctured_on: None,
            in_use_days: None,
        };
        assert_eq!(last_day_of_vial(nothing), None);
    }

    // GS1 General Specifications, AI 17: day 00 is the last day of the month.
    #[test]
    fn a_month_alone_means_its_last_day() {
        assert_eq!(last_day_of_label(2028, 2), Some(date(2028, 2, 29)));
        assert_eq!(last_day_of_label(2027, 3), Some(date(2027, 3, 31)));
        assert_eq!(last_day_of_label(2027, 13), None);
    }

    // USP <797> section 1.3, from memory: started at 07:40, latest start of administration 11:40.
    #[test]
    fn a_mix_is_started_within_four_hours() {
        let started_at = datetime(2026, 3, 2, 7, 40, 0, 0);
        assert_eq!(
            start_within(started_at, FOUR_HOURS),
            datetime(2026, 3, 2, 11, 40, 0, 0)
        );
    }

    // An item may be used through its printed day (common practice, no source).
    #[test]
    fn the_earliest_ingredient_outdate_wins() {
        let late = datetime(2026, 3, 2, 22, 0, 0, 0);
        let latest = start_within(late, FOUR_HOURS);
        assert_eq!(use_by(latest, []), datetime(2026, 3, 3, 2, 0, 0, 0));
        assert_eq!(
            use_by(latest, [date(2026, 3, 2), date(2027, 1, 1)]),
            datetime(2026, 3, 3, 0, 0, 0, 0)
        );
    }
}
