//! What is taken from which place for a setup: first expired, first out.

pub mod reasons;

use crate::catalogue::ProductKind;
use crate::word::words;
use jiff::civil::Date;
use std::cmp::Ordering;
use uuid::Uuid;

words! {
    /// Why a case cannot be set up as its list says, or not without a person's look.
    ReasonKind, "reason" {
        /// The procedure has no list, so nothing can be said.
        NoList = "no_list",
        /// Not enough can be taken.
        Short = "short",
        /// Stock that would do is past its day, on hold, or named by a notice.
        Stock = "stock",
        /// Something stands in for what was asked for; a person has to agree.
        Substitute = "substitute",
        /// No fill of a gas is in order.
        Gas = "gas",
        /// No piece of a kind of equipment is in order.
        Equipment = "equipment",
        /// A routine check was missed, is not done yet, or found a value out of its limits.
        Check = "check",
    }
}

/// What a setup needs of one product, or of any product of a kind.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Need {
    /// What may be taken.
    pub wanted: Wanted,
    /// How many have to be taken still.
    pub quantity: i64,
}

/// What may be taken for a need.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Wanted {
    /// A product, or else one that may stand in for it.
    Product {
        /// The product.
        product: Uuid,
        /// Products that may stand in for it, the preferred one first.
        alternatives: Vec<Uuid>,
    },
    /// Any product of a kind.
    Kind(ProductKind),
}

/// Why stock is not taken.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Barred {
    /// Its last usable day comes before the case.
    Expired,
    /// A hold bars it.
    Held,
    /// A recall notice names it, or does not leave it out.
    Named,
}

/// What lies at one place of one lot.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Bin {
    /// The product.
    pub product: Uuid,
    /// Its kind.
    pub kind: ProductKind,
    /// The place's name.
    pub place: String,
    /// The last usable day.
    pub expires_on: Option<Date>,
    /// What is left to be taken.
    pub left: i64,
    /// Why it is not taken.
    pub barred: Option<Barred>,
}

/// So many from one bin for one need.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pick {
    /// The need, by its place in the list.
    pub need: usize,
    /// The bin, by its place in the list.
    pub bin: usize,
    /// How many.
    pub quantity: i64,
    /// Whether it stands in for what was asked for; a person has to agree.
    pub substitute: bool,
}

impl Wanted {
    /// How far down the wishes a product stands; none when it is no wish.
    #[must_use]
    pub fn rank(&self, product: Uuid, kind: ProductKind) -> Option<usize> {
        match self {
            Self::Product {
                product: wanted, ..
            } if *wanted == product => Some(0),
            Self::Product { alternatives, .. } => {
                let at = alternatives.iter().position(|one| *one == product)?;
                Some(at + 1)
            }
            Self::Kind(wanted) => (*wanted == kind).then_some(0),
        }
    }
}

/// Takes what each need asks for, in the order of the needs: the product itself before what may
/// stand in for it, of each the lot that expires first; lowers what is left in the bins.
pub fn pick(needs: &[Need], bins: &mut [Bin]) -> Vec<Pick> {
    let mut picks = Vec::new();
    for (number, need) in needs.iter().enumerate() {
        let mut open: Vec<(usize, usize)> = bins
            .iter()
            .enumerate()
            .filter(|(_, bin)| bin.barred.is_none() && bin.left > 0)
            .filter_map(|(at, bin)| Some((need.wanted.rank(bin.product, bin.kind)?, at)))
            .collect();
        open.sort_by(|(rank, one), (other_rank, other)| {
            rank.cmp(other_rank)
                .then_with(|| first_expired(&bins[*one], &bins[*other]))
        });
        let mut missing = need.quantity;
        for (rank, at) in open {
            let quantity = missing.min(bins[at].left);
            if quantity <= 0 {
                break;
            }
            bins[at].left -= quantity;
            missing -= quantity;
            picks.push(Pick {
                need: number,
                bin: at,
                quantity,
                substitute: rank > 0,
            });
        }
    }
    picks
}

/// The earliest outdate first, lots without one last; of two the place that comes first by name.
fn first_expired(one: &Bin, other: &Bin) -> Ordering {
    let day = |bin: &Bin| (bin.expires_on.is_none(), bin.expires_on);
    day(one)
        .cmp(&day(other))
        .then_with(|| one.place.cmp(&other.place))
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;
    use proptest::prelude::*;

    const PAD: Uuid = Uuid::from_u128(1);
    const OTHER: Uuid = Uuid::from_u128(2);

    fn bin(product: Uuid, place: &str, expires_on: Option<Date>, left: i64) -> Bin {
        Bin {
            product,
            kind: ProductKind::Dressing,
            place: place.to_owned(),
            expires_on,
            left,
            barred: None,
        }
    }

    fn need(quantity: i64) -> Need {
        Need {
            wanted: Wanted::Product {
                product: PAD,
                alternatives: vec![OTHER],
            },
            quantity,
        }
    }

    // First expired, first out: common practice, no source.
    #[test]
    fn the_lot_that_expires_first_is_taken_before_others_and_the_product_before_its_substitute() {
        let mut bins = [
            bin(OTHER, "A", Some(date(2026, 4, 1)), 9),
            bin(PAD, "B", None, 2),
            bin(PAD, "C", Some(date(2027, 1, 31)), 2),
            bin(PAD, "D", Some(date(2026, 5, 31)), 1),
            Bin {
                barred: Some(Barred::Held),
                ..bin(PAD, "E", Some(date(2026, 4, 1)), 9)
            },
        ];
        let picks = pick(&[need(6)], &mut bins);
        let taken: Vec<(usize, i64, bool)> = picks
            .iter()
            .map(|pick| (pick.bin, pick.quantity, pick.substitute))
            .collect();
        let expected = [(3, 1, false), (2, 2, false), (1, 2, false), (0, 1, true)];
        assert_eq!(taken, expected);
    }

    #[test]
    fn any_product_of_a_kind_will_do_and_nothing_is_taken_twice() {
        let mut bins = [bin(PAD, "A", None, 1), bin(OTHER, "B", None, 1)];
        let kind = Need {
            wanted: Wanted::Kind(ProductKind::Dressing),
            quantity: 2,
        };
        let picks = pick(&[need(1), kind], &mut bins);
        let taken: Vec<(usize, usize)> = picks.iter().map(|pick| (pick.need, pick.bin)).collect();
        assert_eq!(taken, [(0, 0), (1, 1)]);
    }

    proptest! {
        /// A need is met as far as there is stock, and no bin gives more than it has.
        #[test]
        fn what_is_taken_is_what_there_is(
            wanted in 0..20_i64,
            stock in prop::collection::vec((0..5_i64, any::<bool>(), any::<bool>()), 0..8),
        ) {
            let make = |(left, other, barred): &(i64, bool, bool)| Bin {
                barred: barred.then_some(Barred::Expired),
                ..bin(if *other { OTHER } else { PAD }, "A", None, *left)
            };
            let mut bins: Vec<Bin> = stock.iter().map(make).collect();
            let before = bins.clone();
            let picks = pick(&[need(wanted)], &mut bins);
            let usable: i64 = before.iter().filter(|bin| bin.barred.is_none()).map(|bin| bin.left).sum();
            let taken: i64 = picks.iter().map(|pick| pick.quantity).sum();
            prop_assert_eq!(taken, wanted.min(usable));
            for (at, bin) in bins.iter().enumerate() {
                let own: i64 = picks.iter().filter(|pick| pick.bin == at).map(|pick| pick.quantity).sum();
                prop_assert_eq!(bin.left + own, before[at].left);
                prop_assert!(bin.left >= 0 && (bin.barred.is_none() || own == 0));
            }
        }
    }
}
