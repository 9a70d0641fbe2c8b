//! The identity of volumes: mixed = given + wasted + left in the container.

use rust_decimal::Decimal;

/// How far the identity may be off, in millilitres: our own rule, common practice without a source.
pub const VOLUME_TOLERANCE_ML: Decimal = Decimal::from_parts(5, 0, 0, false, 0);

/// The volumes of a mix, all in millilitres.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct VolumeBalance {
    /// What was mixed.
    pub mixed_ml: Decimal,
    /// What was given to the patient.
    pub given_ml: Decimal,
    /// What was discarded.
    pub wasted_ml: Decimal,
    /// What is left in the container.
    pub left_ml: Decimal,
}

impl VolumeBalance {
    /// What was mixed and is not known of; below zero where more is known of than was mixed.
    #[must_use]
    pub fn difference_ml(&self) -> Decimal {
        self.mixed_ml - self.given_ml - self.wasted_ml - self.left_ml
    }

    /// Whether the identity holds within a tolerance in millilitres, the limit itself included.
    #[must_use]
    pub fn agrees(&self, tolerance_ml: Decimal) -> bool {
        self.difference_ml().abs() <= tolerance_ml
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn balance(mixed: i64, given: i64, wasted: i64, left: i64) -> VolumeBalance {
        let ml = |hundredths| Decimal::new(hundredths, 2);
        VolumeBalance {
            mixed_ml: ml(mixed),
            given_ml: ml(given),
            wasted_ml: ml(wasted),
            left_ml: ml(left),
        }
    }

    // 277.75 = 180 + 97.75: arithmetic; the tolerance of 5 mL is our own rule.
    #[test]
    fn volumes_agree_within_the_tolerance() {
        let exact = balance(27_775, 18_000, 9_775, 0);
        assert_eq!(exact.difference_ml(), Decimal::ZERO);
        assert!(exact.agrees(Decimal::ZERO));
        assert!(balance(27_775, 18_000, 9_275, 0).agrees(VOLUME_TOLERANCE_ML));
        let short = balance(27_775, 18_000, 9_274, 0);
        assert_eq!(short.difference_ml(), Decimal::new(501, 2));
        assert!(!short.agrees(VOLUME_TOLERANCE_ML));
        assert!(!balance(27_775, 18_000, 10_276, 0).agrees(VOLUME_TOLERANCE_ML));
    }

    proptest! {
        #[test]
        fn the_parts_and_the_difference_make_the_whole(
            mixed in 0..1_000_000_i64, given in 0..1_000_000_i64, wasted in 0..1_000_000_i64, left in 0..1_000_000_i64,
        ) {
            let all = balance(mixed, given, wasted, left);
            prop_assert_eq!(all.given_ml + all.wasted_ml + all.left_ml + all.difference_ml(), all.mixed_ml);
            prop_assert!(balance(given + wasted + left, given, wasted, left).agrees(Decimal::ZERO));
        }
    }
}
