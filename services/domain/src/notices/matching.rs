//! Which items of a named product a notice hits.

mod codes;

use std::collections::HashSet;

use jiff::civil::Date;

use super::{Named, Of, Proposal, Range};
use crate::word::words;
use codes::{fold, in_range};

words! {
    /// How a notice hits an item.
    MatchClass, "match class" {
        /// The record does not say enough to leave the item out; it counts as affected until a
        /// person clears it.
        CannotExclude = "cannot_exclude",
        /// Named after letter case, spaces and leading zeros are left out of account; a person
        /// decides.
        Possible = "possible",
        /// Named as it stands.
        Affected = "affected",
    }
}

words! {
    /// Which record says that an item was on a case.
    Witness, "record of an item on a case" {
        /// The scan that put it there.
        Scan = "scan",
        /// A mix that was made of it; its scan was taken back.
        Mix = "mix",
        /// Gas that flowed from it; its scan was taken back.
        Gas = "gas",
        /// An immediate-use cycle that was run for the case; it was not scanned there.
        Load = "load",
    }
}

/// What the record says of an item; an empty text counts as not recorded.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Recorded<'a> {
    /// The lot, exactly as recorded.
    pub lot: Option<&'a str>,
    /// The serial, exactly as recorded.
    pub serial: Option<&'a str>,
    /// The last usable day.
    pub expires_on: Option<Date>,
}

/// Confirmed criteria of one product, made ready for many items.
///
/// A lot, serial or range that is named is hit whatever the item's expiry; an expiry decides only
/// where it stands alone or beside `all`. Criteria that name nothing leave every item of the
/// product as what cannot be excluded.
#[derive(Clone, Debug, Default)]
pub struct Criteria {
    lots: Codes,
    serials: Codes,
    expiry: Option<(Option<Date>, Option<Date>)>,
    all: bool,
    open: bool,
}

/// Lots, or serials.
#[derive(Clone, Debug, Default)]
struct Codes {
    exact: HashSet<String>,
    folded: HashSet<String>,
    ranges: Vec<Range>,
}

impl Criteria {
    /// The criteria of a proposal; see [`Self::of`].
    #[must_use]
    pub fn new(proposal: &Proposal, open: bool) -> Self {
        Self::of(&proposal.into(), open)
    }

    /// The criteria of what is named. `open` says that part of the notice stayed unread and nobody
    /// has settled it: then no item of the product is left out.
    #[must_use]
    pub fn of(named: &Named, open: bool) -> Self {
        let ranges = |of: Of| {
            let ranges = named.ranges.iter();
            ranges
                .filter(move |range| range.of() == of)
                .cloned()
                .collect()
        };
        let codes = |list: &[String], of: Of| Codes {
            exact: list.iter().cloned().collect(),
            folded: list.iter().map(|code| fold(code)).collect(),
            ranges: ranges(of),
        };
        let window = (named.expires_from, named.expires_to);
        Self {
            lots: codes(&named.lots, Of::Lot),
            serials: codes(&named.serials, Of::Serial),
            expiry: (window != (None, None)).then_some(window),
            all: named.all,
            open,
        }
    }

    /// How the notice hits an item of the product; nothing when it is surely another one.
    #[must_use]
    pub fn hit(&self, item: Recorded<'_>) -> Option<MatchClass> {
        let by_lot = self.by_lot(item.lot, item.expires_on);
        by_lot.max(self.by_serial(item.serial))
    }

    /// How the notice hits an item by its lot, its expiry, and what it leaves open.
    #[must_use]
    pub fn by_lot(&self, lot: Option<&str>, expires_on: Option<Date>) -> Option<MatchClass> {
        let open = (self.open || !self.names_items()).then_some(MatchClass::CannotExclude);
        let by_lot = self.lots.hit(lot);
        by_lot.max(self.by_expiry(expires_on)).max(open)
    }

    /// How the notice hits an item by its serial.
    #[must_use]
    pub fn by_serial(&self, serial: Option<&str>) -> Option<MatchClass> {
        self.serials.hit(serial)
    }

    fn names_items(&self) -> bool {
        self.all || self.expiry.is_some() || self.lots.any() || self.serials.any()
    }

    fn by_expiry(&self, expires_on: Option<Date>) -> Option<MatchClass> {
        if !self.all && (self.lots.any() || self.serials.any()) {
            return None;
        }
        match (self.expiry, expires_on) {
            (None, _) => self.all.then_some(MatchClass::Affected),
            (Some(_), None) => Some(MatchClass::CannotExclude),
            (Some((from, to)), Some(day)) => {
                let inside = from.is_none_or(|from| from <= day) && to.is_none_or(|to| day <= to);
                inside.then_some(MatchClass::Affected)
            }
        }
    }
}

impl Codes {
    fn any(&self) -> bool {
        !(self.exact.is_empty() && self.ranges.is_empty())
    }

    fn hit(&self, code: Option<&str>) -> Option<MatchClass> {
        if !self.any() {
            return None;
        }
        let Some(code) = code.filter(|code| !code.trim().is_empty()) else {
            return Some(MatchClass::CannotExclude);
        };
        if self.exact.contains(code) {
            return Some(MatchClass::Affected);
        }
        let by_range = self
            .ranges
            .iter()
            .filter_map(|range| in_range(range, code))
            .max();
        let folded = self
            .folded
            .contains(&fold(code))
            .then_some(MatchClass::Possible);
        by_range.max(folded)
    }
}
