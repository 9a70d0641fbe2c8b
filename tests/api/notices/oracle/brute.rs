//! Every row of a history, looked at with plain comparisons. The classes are those of trade.md 3.3,
//! our own design decision.

use super::history::{Cycle, History, Lot, Named1, Unit, Use};
use lotwarden_store::notices::MatchList;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Class {
    CannotExclude,
    Possible,
    Affected,
}

/// A lot or piece at a place, with its quantity.
type Shelf = (Uuid, Option<Uuid>, i32);

type Unscanned = (&'static str, Uuid, Uuid, Uuid, Option<Uuid>);

/// What a notice hits.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Found {
    /// Scans with their class, and what lies between lot and case.
    pub items: BTreeMap<Uuid, (Class, BTreeSet<Uuid>)>,
    /// What another record has on a case: mix, fill or cycle, case, lot and piece.
    pub unscanned: BTreeSet<Unscanned>,
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
            let through: BTreeSet<Uuid> = item.through.iter().copied().collect();
            match item.scan {
                Some(scan) => {
                    found.items.insert(scan, (class(item.class), through));
                }
                None => {
                    assert_eq!(class(item.class), Class::CannotExclude);
                    for way in through {
                        let place = (item.witness.as_str(), way, item.case, item.lot, item.unit);
                        assert!(found.unscanned.insert(place), "{place:?} twice");
                    }
                }
            }
            found.reached(item.patient, class(item.class));
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

    fn reached(&mut self, patient: Uuid, class: Class) {
        let worst = self.patients.entry(patient).or_insert(class);
        *worst = (*worst).max(class);
    }
}

pub fn find(history: &History) -> Found {
    let mut found = Found::default();
    for (at, one) in history.uses.iter().enumerate() {
        let unit = one.unit.map(|unit| &history.units[unit]);
        let Some(class) = hit(history, &history.lots[one.lot], unit) else {
            continue;
        };
        if one.struck {
            let others = despite(history, at);
            found.struck += u64::from(others.is_empty());
            for other in others {
                found.unscanned.insert(other);
                found.reached(one.patient, Class::CannotExclude);
            }
        } else {
            found.items.insert(one.scan, (class, between(history, at)));
            found.reached(one.patient, class);
        }
    }
    for cycle in &history.cycles {
        let Some((case, patient)) = cycle.case else {
            continue;
        };
        for (at, _) in &cycle.units {
            let unit = &history.units[*at];
            let lot = &history.lots[unit.lot];
            let mut uses = history.uses.iter();
            let scanned = uses.any(|one| one.unit == Some(*at) && one.case == case && !one.struck);
            if !scanned && hit(history, lot, Some(unit)).is_some() {
                let place = ("load", cycle.id, case, lot.id, Some(unit.id));
                found.unscanned.insert(place);
                found.reached(patient, Class::CannotExclude);
            }
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

/// What lies between the lot of a use and its case.
fn between(history: &History, at: usize) -> BTreeSet<Uuid> {
    let one = &history.uses[at];
    let mut ways = BTreeSet::new();
    for mix in &history.mixtures {
        if mix.uses.contains(&at) {
            ways.insert(mix.id);
        }
    }
    for fill in &history.fills {
        if fill.lot == one.lot && fill.unit == one.unit {
            ways.insert(fill.id);
        }
    }
    let mut newest: Option<&Cycle> = None;
    for cycle in &history.cycles {
        let holds = cycle.units.iter().any(|(unit, _)| Some(*unit) == one.unit);
        let later = newest.is_none_or(|newest| newest.minute < cycle.minute);
        if holds && cycle.minute < one.minute && later {
            newest = Some(cycle);
        }
    }
    ways.extend(newest.map(|cycle| cycle.id));
    ways
}

/// The mixes and gas that have the item of a struck use on its case all the same.
fn despite(history: &History, at: usize) -> Vec<Unscanned> {
    let one = &history.uses[at];
    let lot = history.lots[one.lot].id;
    let unit = one.unit.map(|unit| history.units[unit].id);
    let mut others = Vec::new();
    for mix in &history.mixtures {
        if mix.uses.contains(&at) {
            others.push(("mix", mix.id, one.case, lot, unit));
        }
    }
    let same = |other: &&Use| {
        other.case == one.case && other.lot == one.lot && other.unit == one.unit && !other.struck
    };
    let again = history.uses.iter().any(|other| same(&other));
    for fill in &history.fills {
        let of_use = fill.lot == one.lot && fill.unit == one.unit;
        let flowed = fill.flowed.iter().any(|(_, case)| *case == one.case);
        if of_use && flowed && !again {
            others.push(("gas", fill.id, one.case, lot, unit));
        }
    }
    others
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
