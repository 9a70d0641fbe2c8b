//! Gas used, by flow and time.
//!
//! A case uses less than a gauge can show (18 L against a band of 19.1 L), so use comes from flow
//! and time; the gauge is the cross-check.

use rust_decimal::Decimal;

/// A set flow for a time.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FlowTime {
    /// Litres a minute.
    pub litre_per_minute: Decimal,
    /// Minutes.
    pub minutes: Decimal,
}

/// The litres that flowed, summed exactly; none where the sum does not fit a decimal.
#[must_use]
pub fn litres_used(times: &[FlowTime]) -> Option<Decimal> {
    times.iter().try_fold(Decimal::ZERO, |sum, time| {
        sum.checked_add(time.litre_per_minute.checked_mul(time.minutes)?)
    })
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn flow(tenths: i64, minutes: i64) -> FlowTime {
        FlowTime {
            litre_per_minute: Decimal::new(tenths, 1),
            minutes: Decimal::new(minutes, 1),
        }
    }

    // 12.0 min at 1.5 L/min are 18.0 L: multiplication.
    #[test]
    fn twelve_minutes_at_one_and_a_half_litres_are_eighteen_litres() {
        assert_eq!(litres_used(&[flow(15, 120)]), Some(Decimal::new(180, 1)));
        assert_eq!(
            litres_used(&[flow(15, 40), flow(15, 80)]),
            Some(Decimal::new(180, 1))
        );
    }

    proptest! {
        #[test]
        fn zones_add_up_to_the_case(times in prop::collection::vec((0..500_i64, 0..9000_i64), 0..20)) {
            let times: Vec<_> = times.into_iter().map(|(flow_, minutes)| flow(flow_, minutes)).collect();
            let each: Decimal = times.iter().filter_map(|time| litres_used(&[*time])).sum();
            prop_assert_eq!(litres_used(&times), Some(each));
        }
    }
}
