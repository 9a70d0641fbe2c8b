//! How many to ask so that none missed among them shows a share reached, with a confidence.
//!
//! Zero-failure attribute sampling. This is the project's own method for checking its own
//! notifications; it is not FDA's table of 1978, which was not found.

use rust_decimal::Decimal;

/// The most that is ever asked for: 99.99 % confidence of 99.99 % needs 92,099.
const MOST: u32 = 1_000_000;

/// The least n for which `reached^n <= 1 - confidence`: so many asked and none missed shows, with
/// the confidence, that at least this share was reached.
///
/// Both are percentages between 0 and 100, both ends excluded; none outside of that, or above a
/// million.
#[must_use]
pub fn zero_failure_sample(confidence_percent: Decimal, reached_percent: Decimal) -> Option<u32> {
    let (doubt, reached) = (doubt(confidence_percent)?, share(reached_percent)?);
    let mut chance = Decimal::ONE;
    for n in 1..=MOST {
        chance = chance.checked_mul(reached)?;
        if chance <= doubt {
            return Some(n);
        }
    }
    None
}

/// The same among a known number of people, of whom so many were missed, drawn without putting
/// back: the least n for which the chance to meet none of the missed is at most `1 - confidence`.
///
/// None where nobody was missed or more than all.
#[must_use]
pub fn finite_sample(confidence_percent: Decimal, people: u32, missed: u32) -> Option<u32> {
    let doubt = doubt(confidence_percent)?;
    if missed == 0 || missed > people {
        return None;
    }
    let mut chance = Decimal::ONE;
    for n in 1..=people {
        let left = people - (n - 1);
        // Drawing among those left, one that was not missed.
        let good = left.checked_sub(missed)?;
        chance = chance
            .checked_mul(Decimal::from(good))?
            .checked_div(Decimal::from(left))?;
        if chance <= doubt {
            return Some(n);
        }
    }
    None
}

fn share(percent: Decimal) -> Option<Decimal> {
    let hundred = Decimal::ONE_HUNDRED;
    (percent > Decimal::ZERO && percent < hundred).then(|| percent / hundred)
}

fn doubt(confidence_percent: Decimal) -> Option<Decimal> {
    share(confidence_percent).map(|confidence| Decimal::ONE - confidence)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn sample(confidence: i64, reached: i64) -> Option<u32> {
        zero_failure_sample(Decimal::from(confidence), Decimal::from(reached))
    }

    // n = ceil(ln(1 - C) / ln(p)), textbook formula of zero-failure sampling, computed apart.
    #[test]
    fn asking_so_many_without_a_miss_shows_the_share() {
        for (confidence, reached, n) in [
            (90, 90, 22),
            (90, 95, 45),
            (90, 98, 114),
            (90, 99, 230),
            (95, 90, 29),
            (95, 95, 59),
            (95, 98, 149),
            (95, 99, 299),
            (99, 90, 44),
            (99, 95, 90),
            (99, 98, 228),
            (99, 99, 459),
        ] {
            assert_eq!(
                sample(confidence, reached),
                Some(n),
                "{confidence}/{reached}"
            );
        }
        // Exactly on the limit: 0.1^2 = 1 - 0.99.
        assert_eq!(sample(99, 10), Some(2));
        assert_eq!(sample(100, 90), None);
        assert_eq!(sample(95, 0), None);
    }

    // Hypergeometric distribution at 95 %, computed apart.
    #[test]
    fn fewer_are_asked_where_there_are_few_people() {
        let n = |people, missed| finite_sample(Decimal::from(95), people, missed);
        assert_eq!(n(100, 5), Some(45));
        assert_eq!(n(137, 7), Some(47));
        assert_eq!(n(500, 25), Some(56));
        assert_eq!(n(10, 10), Some(1));
        assert_eq!(n(10, 0), None);
        assert_eq!(n(10, 11), None);
    }
}
