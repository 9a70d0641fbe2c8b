//! Which items of a named product a notice hits.

mod codes;

use std::collections::HashSet;

use jiff::civil::Date;

use super::{Of, Proposal, Range};
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
    /// The criteria of a proposal. `open` says that part of the notice stayed unread and nobody
    /// has settled it: then no item of the product is left out.
    #[must_use]
    pub fn new(proposal: &Proposal, open: bool) -> Self {
        let ranges = |of: Of| {
            let ranges = proposal.ranges.iter().map(|found| &found.value);
            ranges
                .filter(move |range| range.of() == of)
                .cloned()
                .collect()
        };
        let codes = |list: &[super::Found<String>], of: Of| Codes {
            exact: list.iter().map(|found| found.value.clone()).collect(),
            folded: list.iter().map(|found| fold(&found.value)).collect(),
            ranges: ranges(of),
        };
        Self {
            lots: codes(&proposal.lots, Of::Lot),
            serials: codes(&proposal.serials, Of::Serial),
            expiry: proposal
                .expiry
                .as_ref()
                .map(|found| (found.value.from, found.value.to)),
            all: proposal.all.is_some(),
            open,
        }
    }

    /// How the notice hits an item of the product; nothing when it is surely another one.
    #[must_use]
    pub fn hit(&self, item: Recorded<'_>) -> Option<MatchClass> {
        let by_lot = self.lots.hit(item.lot);
        let by_serial = self.serials.hit(item.serial);
        let open = (self.open || !self.names_items()).then_some(MatchClass::CannotExclude);
        by_lot.max(by_serial).max(self.by_expiry(item)).max(open)
    }

    fn names_items(&self) -> bool {
        self.all || self.expiry.is_some() || self.lots.any() || self.serials.any()
    }

    fn by_expiry(&self, item: Recorded<'_>) -> Option<MatchClass> {
        if !self.all && (self.lots.any() || self.serials.any()) {
            return None;
        }
        match (self.expiry, item.expires_on) {
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
