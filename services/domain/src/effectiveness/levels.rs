//! The levels of effectiveness checks (21 CFR 7.42(b)(3)(i)-(v), from memory).

use crate::word::words;

words! {
    /// How many of the consignees at the recall's depth are checked.
    Level, "level" {
        /// All of them.
        A = "A",
        /// A share decided case by case, above 10 % and below 100 %.
        B = "B",
        /// 10 %.
        C = "C",
        /// 2 %.
        D = "D",
        /// None.
        E = "E",
    }
}

/// How many checks a level asks for; a share is rounded up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LevelChecks {
    /// So many.
    Exactly(u64),
    /// Between these two, both included; the recall's strategy says how many.
    Between(u64, u64),
}

impl Level {
    /// The checks of this level among so many consignees.
    #[must_use]
    pub fn checks(self, consignees: u64) -> LevelChecks {
        match self {
            Self::A => LevelChecks::Exactly(consignees),
            // More than a tenth, fewer than all; with one consignee nothing lies between.
            Self::B => {
                let least = (consignees / 10 + 1).min(consignees);
                LevelChecks::Between(least, consignees.saturating_sub(1).max(least))
            }
            Self::C => LevelChecks::Exactly(consignees.div_ceil(10)),
            Self::D => LevelChecks::Exactly(consignees.div_ceil(50)),
            Self::E => LevelChecks::Exactly(0),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    // 21 CFR 7.42(b)(3): 100 %, 10 %, 2 %, none; rounded up. N, A, C, D, E computed by hand.
    #[test]
    fn a_share_of_the_consignees_is_rounded_up() {
        for (consignees, a, c, d) in [
            (1, 1, 1, 1),
            (9, 9, 1, 1),
            (10, 10, 1, 1),
            (37, 37, 4, 1),
            (137, 137, 14, 3),
            (500, 500, 50, 10),
        ] {
            let checks = |level: Level| level.checks(consignees);
            assert_eq!(checks(Level::A), LevelChecks::Exactly(a));
            assert_eq!(checks(Level::C), LevelChecks::Exactly(c));
            assert_eq!(checks(Level::D), LevelChecks::Exactly(d));
            assert_eq!(checks(Level::E), LevelChecks::Exactly(0));
        }
    }

    // 21 CFR 7.42(b)(3)(ii): greater than 10 % and less than 100 %.
    #[test]
    fn level_b_lies_between_a_tenth_and_all() {
        assert_eq!(Level::B.checks(137), LevelChecks::Between(14, 136));
        assert_eq!(Level::B.checks(500), LevelChecks::Between(51, 499));
    }
}
