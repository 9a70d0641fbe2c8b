//! Everything one notice names of one product.

use super::{Criteria, MatchClass};
use jiff::civil::Date;

/// The criteria of one notice that name one product, ready for many items.
#[derive(Clone, Debug, Default)]
pub struct Watch(Vec<Watched>);

#[derive(Clone, Debug)]
struct Watched {
    criteria: Criteria,
    by_model: bool,
}

impl Watch {
    /// Adds criteria. `by_model` says that they name the product by a catalogue number alone: two
    /// makers may use one number, so they hit an item as possible at most.
    pub fn add(&mut self, criteria: Criteria, by_model: bool) {
        self.0.push(Watched { criteria, by_model });
    }

    /// How an item is hit by its lot, its expiry, and what the notice leaves open.
    #[must_use]
    pub fn by_lot(&self, lot: Option<&str>, expires_on: Option<Date>) -> Option<MatchClass> {
        self.worst(|criteria| criteria.by_lot(lot, expires_on))
    }

    /// How an item is hit by its serial.
    #[must_use]
    pub fn by_serial(&self, serial: Option<&str>) -> Option<MatchClass> {
        self.worst(|criteria| criteria.by_serial(serial))
    }

    /// Whether an item without a serial may be one that is named.
    #[must_use]
    pub fn names_serials(&self) -> bool {
        self.by_serial(None).is_some()
    }

    fn worst(&self, hit: impl Fn(&Criteria) -> Option<MatchClass>) -> Option<MatchClass> {
        let hits = self.0.iter().filter_map(|watched| {
            let class = hit(&watched.criteria)?;
            Some(match watched.by_model {
                true => class.min(MatchClass::Possible),
                false => class,
            })
        });
        hits.max()
    }
}
