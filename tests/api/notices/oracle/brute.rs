//! Every row of a history, looked at with plain comparisons. The classes are those of trade.md 3.3,
//! our own design decision.

use super::history::{History, Lot, Named1, Unit};
use lotwarden_store::notices::MatchList;
use std::collections::BTreeMap;
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    CannotExclude,
    Possible,
    Affected,
}

/// A lot or piece at a place, with its quantity.
type Shelf = (Uuid, Option<Uuid>, i32);

/// What a notice hits.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// Scans with their class.
    pub items: BTreeMap<Uuid, Class>,
    /// Patients with their worst class.
    pub patients: BTreeMap<Uuid, Class>,
    /// Stock with its class.
    pub on_hand: BTreeMap<Shelf, Class>,
    pub struck: u64,
}

impl Found {
    pub fn of(list: &MatchList) -> Self {
        use lotwarden_domain::notices::MatchClass;
        let class = |class| match class {
            MatchClass::Affected => Class::Affected,
            MatchClass::Possible => Class::Possible,
            MatchClass::CannotExclude => Class::CannotExclude,
        };
        let mut found = Self {
            struck: list.matches.struck,
            ..Self::default()
        };
        for item in &list.matches.items {
            found.put(item.scan, item.patient, class(item.class));
            assert!(
                list.patients.contains_key(&item.patient),
                "a patient without identity"
            );
        }
        for stock in &list.matches.on_hand {
            let place = (stock.lot, stock.unit, stock.quantity);
            found.on_hand.insert(place, class(stock.class));
        }
        found
    }

    fn put(&mut self, scan: Uuid, patient: Uuid, class: Class) {
        self.items.insert(scan, class);
        let worst = self.patients.entry(patient).or_insert(class);
        *worst = (*worst).max(class);
    }
}

pub fn find(history: &History) -> Found {
    let mut found = Found::default();
    for one in &history.uses {
        let unit = one.unit.map(|unit| &history.units[unit]);
        let Some(class) = hit(history, &history.lots[one.lot], unit) else {
            continue;
        };
        if one.struck {
            found.struck += 1;
        } else {
            found.put(one.scan, one.patient, class);
        }
    }
    let by_piece = history.criteria.iter().any(names_serials);
    for lot in &history.lots {
        let mut left = lot.on_shelf;
        for unit in &history.units {
            if !by_piece || !unit.on_shelf || history.lots[unit.lot].id != lot.id {
                continue;
            }
            left -= 1;
            if let Some(class) = hit(history, lot, Some(unit)) {
                found.on_hand.insert((lot.id, Some(unit.id), 1), class);
            }
        }
        if let Some(class) = hit(history, lot, None).filter(|_| left > 0) {
            found.on_hand.insert((lot.id, None, left), class);
        }
    }
    found
}

fn names_serials(one: &Named1) -> bool {
    !one.serials.is_empty() || one.serial_range.is_some()
}

fn hit(history: &History, lot: &Lot, unit: Option<&Unit>) -> Option<Class> {
    let mut worst = None;
    for one in &history.criteria {
        let on_record = unit.map(|unit| &history.lots[unit.lot]);
        let lots = std::iter::once(lot).chain(on_record);
        let by_lot = lots.filter_map(|lot| by_lot(one, lot, history.open)).max();
        let serial = unit.map(|unit| unit.serial.as_str());
        let by_serial = named(&one.serials, one.serial_range, "S", serial);
        let class = by_lot.max(by_serial);
        let only_model = !one.by_unit && !one.by_package && !one.by_product;
        let class = class.map(|class| {
            if only_model {
                class.min(Class::Possible)
            } else {
                class
            }
        });
        worst = worst.max(class);
    }
    worst
}

fn by_lot(one: &Named1, lot: &Lot, open: bool) -> Option<Class> {
    let names_codes = !one.lots.is_empty() || one.lot_range.is_some() || names_serials(one);
    let mut worst = named(&one.lots, one.lot_range, "L", lot.number.as_deref());
    if one.all || !names_codes {
        let dated = match (one.window, lot.expires_on) {
            (None, _) if one.all => Some(Class::Affected),
            (None, _) => None,
            (Some(_), None) => Some(Class::CannotExclude),
            (Some((from, to)), Some(day)) => (from <= day && day <= to).then_some(Class::Affected),
        };
        worst = worst.max(dated);
    }
    let says_nothing = !one.all && one.window.is_none() && !names_codes;
    if open || says_nothing {
        worst = worst.max(Some(Class::CannotExclude));
    }
    worst
}

/// A code against a list and a range of numbers behind one stem.
fn named(
    list: &[String],
    range: Option<(u64, u64)>,
    stem: &str,
    code: Option<&str>,
) -> Option<Class> {
    if list.is_empty() && range.is_none() {
        return None;
    }
    let Some(code) = code else {
        return Some(Class::CannotExclude);
    };
    let in_range = |code: &str| {
        let number = code
            .strip_prefix(stem)
            .and_then(|rest| rest.parse::<u64>().ok());
        let inside = |number| range.is_some_and(|(from, to)| from <= number && number <= to);
        number.is_some_and(inside)
    };
    let plain = plain(code);
    if list.iter().any(|one| one == code) || in_range(code) {
        Some(Class::Affected)
    } else if list.iter().any(|one| self::plain(one) == plain) || in_range(&plain) {
        Some(Class::Possible)
    } else {
        None
    }
}

/// Without spaces, case, and zeros in front.
fn plain(code: &str) -> String {
    let code = code.replace(' ', "").to_ascii_uppercase();
    code.trim_start_matches('0').to_owned()
}
