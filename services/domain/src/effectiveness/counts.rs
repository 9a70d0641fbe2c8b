//! The identities of counts: what came in is what is there, went out, or is unaccounted for.

use rust_decimal::Decimal;

/// Where the pieces of a lot, or of a line of a case, are or went.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Counts {
    /// On the shelf.
    pub on_hand: u64,
    /// In quarantine.
    pub quarantined: u64,
    /// Used on patients.
    pub used: u64,
    /// Wasted.
    pub wasted: u64,
    /// Returned.
    pub returned: u64,
    /// Destroyed.
    pub destroyed: u64,
}

/// What the identity says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Reconciled {
    /// What came in, or was picked.
    pub received: u64,
    /// What is known of.
    pub accounted: u64,
}

impl Counts {
    /// Compares with what was received (a lot) or picked (a line of a case).
    ///
    /// `received = on_hand + quarantined + used + wasted + returned + destroyed + unaccounted`.
    #[must_use]
    pub fn reconcile(self, received: u64) -> Reconciled {
        let parts = [
            self.on_hand,
            self.quarantined,
            self.used,
            self.wasted,
            self.returned,
            self.destroyed,
        ];
        Reconciled {
            received,
            accounted: parts.into_iter().fold(0, u64::saturating_add),
        }
    }
}

impl Reconciled {
    /// How many nobody knows of.
    #[must_use]
    pub fn unaccounted(self) -> u64 {
        self.received.saturating_sub(self.accounted)
    }

    /// How many more are known of than were received.
    #[must_use]
    pub fn too_many(self) -> u64 {
        self.accounted.saturating_sub(self.received)
    }

    /// Whether the identity holds; a file that does not close needs a signed explanation.
    #[must_use]
    pub fn closes(self) -> bool {
        self.received == self.accounted
    }

    /// The percentage accounted for, exactly; none where nothing was received.
    #[must_use]
    pub fn percent(self) -> Option<Decimal> {
        Decimal::from(self.accounted)
            .checked_mul(Decimal::ONE_HUNDRED)?
            .checked_div(Decimal::from(self.received))
    }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    // 23 of 24 = 95.83 %: arithmetic.
    #[test]
    fn a_lot_with_one_piece_unaccounted_for_does_not_close() {
        let counts = Counts {
            quarantined: 7,
            used: 15,
            wasted: 1,
            ..Counts::default()
        };
        let lot = counts.reconcile(24);
        assert_eq!((lot.accounted, lot.unaccounted()), (23, 1));
        assert_eq!(lot.percent().unwrap().round_dp(2), Decimal::new(9583, 2));
        assert!(!lot.closes());
    }

    // Picked = used + wasted + returned: the trade's line identity, common practice, no source.
    #[test]
    fn a_line_of_a_case_closes_when_every_piece_picked_is_known_of() {
        let line = Counts {
            used: 3,
            wasted: 1,
            returned: 2,
            ..Counts::default()
        };
        assert!(line.reconcile(6).closes());
        let short = Counts {
            returned: 1,
            ..line
        };
        assert_eq!(short.reconcile(6).unaccounted(), 1);
        let long = Counts {
            returned: 3,
            ..line
        };
        assert_eq!(long.reconcile(6).too_many(), 1);
        assert!(!long.reconcile(6).closes());
    }

    proptest! {
        #[test]
        fn accounted_and_unaccounted_make_what_was_received(
            parts in prop::array::uniform6(0..10_000_u64), received in 0..60_000_u64,
        ) {
            let [on_hand, quarantined, used, wasted, returned, destroyed] = parts;
            let counts = Counts { on_hand, quarantined, used, wasted, returned, destroyed };
            let all = counts.reconcile(received);
            prop_assert_eq!(all.accounted + all.unaccounted(), received + all.too_many());
            prop_assert_eq!(all.closes(), all.unaccounted() == 0 && all.too_many() == 0);
            prop_assert!(counts.reconcile(parts.iter().sum()).closes());
        }
    }
}
