//! Judging the lines of a delivery in memory, each with the effects of the ones before it.

mod findings;
mod shown;

use super::facts::{Known, KnownLot, KnownProduct, KnownUnit};
use super::{ReceiptLine, RecordReceiptRefusal};
use crate::facilities::Facility;
use crate::moment::new_id;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::catalogue::{LabelCarries, UseClass};
use lotwarden_domain::label::{Label, ProductCode};
use lotwarden_domain::rules::{Finding, PieceFacts};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Units of use that one line may add.
const MOST_UNITS: u32 = 1_000_000;

/// A delivery as it is judged.
pub(super) struct Judged<'a> {
    pub(super) known: Known,
    facility: &'a Facility,
    at: Timestamp,
    /// Products that a label of this delivery brought in.
    pub(super) products: Vec<NewProduct>,
    pub(super) new_lots: BTreeMap<Uuid, Uuid>,
    pub(super) changed_lots: BTreeSet<Uuid>,
    pub(super) new_units: BTreeSet<Uuid>,
    pub(super) changed_units: BTreeSet<Uuid>,
    pub(super) lines: Vec<JudgedLine>,
    /// The product of each lot or piece that a confirmed notice hits, by notice.
    pub(super) recalled: BTreeMap<(Uuid, (Uuid, Option<Uuid>)), Uuid>,
}

/// A product met first here.
pub(super) struct NewProduct {
    pub(super) id: Uuid,
    pub(super) code: ProductCode,
    pub(super) name: String,
}

/// What one line came to.
pub(super) struct JudgedLine {
    pub(super) product: Uuid,
    pub(super) lot: Uuid,
    pub(super) unit: Option<Uuid>,
    pub(super) quantity: u32,
    pub(super) findings: Vec<Finding>,
    /// Another last usable day of the lot, with the one before it.
    pub(super) expiry: Option<(Date, Option<Date>)>,
    /// The numbered lot of a piece whose lot was not recorded, with the row it belonged to.
    pub(super) unit_lot: Option<(Uuid, Uuid)>,
}

/// What a line's serial names.
#[derive(Clone, Copy, Default)]
struct Piece {
    unit: Option<Uuid>,
    lot: Option<Uuid>,
    location: Option<Uuid>,
    claimed_at: Option<Timestamp>,
    in_stock: bool,
}

impl<'a> Judged<'a> {
    pub(super) fn new(known: Known, facility: &'a Facility, at: Timestamp) -> Self {
        Self {
            known,
            facility,
            at,
            products: Vec::new(),
            new_lots: BTreeMap::new(),
            changed_lots: BTreeSet::new(),
            new_units: BTreeSet::new(),
            changed_units: BTreeSet::new(),
            lines: Vec::new(),
            recalled: BTreeMap::new(),
        }
    }

    /// Judges one line and keeps what it changes.
    pub(super) fn take(
        &mut self,
        number: usize,
        line: &ReceiptLine,
    ) -> Result<(), RecordReceiptRefusal> {
        let label = &line.label;
        if !self.known.places.contains_key(&line.location) {
            return Err(RecordReceiptRefusal::NoSuchLocation { line: number });
        }
        if label.serial.is_some() && line.packages != 1 {
            return Err(RecordReceiptRefusal::SerialIsOne { line: number });
        }
        let code = label
            .code
            .as_ref()
            .ok_or(RecordReceiptRefusal::NoProduct { line: number })?;
        let (product, per_package) = match label.codes().find_map(|code| self.known.codes.get(code))
        {
            Some(known) => *known,
            None if label.wrong_check_digit => {
                return Err(RecordReceiptRefusal::WrongCheckDigit { line: number });
            }
            None => (self.add_product(code), 1),
        };
        let units = line.packages.checked_mul(per_package);
        let units = units
            .filter(|units| (1..=MOST_UNITS).contains(units))
            .ok_or(RecordReceiptRefusal::TooMany { line: number })?;
        // The serial of a package with several units in it names none of them.
        let serial = label.serial.as_ref().filter(|_| per_package == 1);
        let piece = self.piece(product, serial.map(String::as_str));
        let lot = match piece.lot {
            Some(lot) if label.lot.is_none() => lot,
            _ => self.lot(product, label),
        };
        let facts = self.piece_facts(piece);
        let adds = facts.adds_to_stock();
        let (findings, recalls) = self.findings(label, (product, lot, serial.is_some()), piece);
        let expiry = self.date(lot, label);
        let (unit, unit_lot) = match serial {
            None => (None, None),
            Some(serial) => self.put(product, lot, serial, piece, adds.then_some(line.location)),
        };
        for recall in recalls.into_iter().filter(|_| adds) {
            let piece = unit.filter(|_| recall.by_piece);
            self.recalled.insert((recall.notice, (lot, piece)), product);
        }
        self.lines.push(JudgedLine {
            product,
            lot,
            unit,
            quantity: if adds { units } else { 0 },
            findings,
            expiry,
            unit_lot,
        });
        Ok(())
    }

    fn add_product(&mut self, code: &ProductCode) -> Uuid {
        let id = new_id(self.at);
        let name = format!("Not in the catalogue: {code}");
        self.known.codes.insert(code.clone(), (id, 1));
        let product = KnownProduct {
            name: name.clone(),
            catalogued: false,
            use_class: UseClass::SingleUse,
            carries: LabelCarries::default(),
            holds: Vec::new(),
            notices: Vec::new(),
        };
        self.known.products.insert(id, product);
        self.products.push(NewProduct {
            id,
            code: code.clone(),
            name,
        });
        id
    }

    fn piece(&self, product: Uuid, serial: Option<&str>) -> Piece {
        let unit = serial.and_then(|serial| self.known.units.get(&(product, serial.to_owned())));
        unit.map_or_else(Piece::default, |unit| Piece {
            unit: Some(unit.id),
            lot: Some(unit.lot),
            location: unit.location,
            claimed_at: unit.claimed_at,
            in_stock: unit.in_stock,
        })
    }

    fn piece_facts(&self, piece: Piece) -> PieceFacts<'_> {
        if let Some(at) = piece.claimed_at {
            return PieceFacts::OnCase {
                on: self.facility.day(at),
            };
        }
        if !piece.in_stock {
            return PieceFacts::Elsewhere;
        }
        let place = piece.location.and_then(|id| self.known.places.get(&id));
        PieceFacts::InStock {
            place: place.map_or("a place of this site", String::as_str),
        }
    }

    /// The label's lot; the row without a number stands for many pieces, which share no date.
    fn lot(&mut self, product: Uuid, label: &Label) -> Uuid {
        let key = (product, label.lot.clone());
        if let Some(lot) = self.known.lot_numbers.get(&key) {
            return *lot;
        }
        let id = new_id(self.at);
        self.known.lot_numbers.insert(key, id);
        let lot = KnownLot {
            number: label.lot.clone(),
            expires_on: None,
            manufactured_on: None,
        };
        self.known.lots.insert(id, lot);
        self.new_lots.insert(id, product);
        id
    }

    /// Keeps the earlier of the two dates on record, and says what changed.
    fn date(&mut self, id: Uuid, label: &Label) -> Option<(Date, Option<Date>)> {
        let lot = self.known.lots.get_mut(&id)?;
        lot.number.as_ref()?;
        let old = lot.expires_on;
        lot.expires_on = old.into_iter().chain(label.expires_on).min();
        let made = lot.manufactured_on;
        lot.manufactured_on = made.or(label.manufactured_on);
        let changed = lot.expires_on != old || lot.manufactured_on != made;
        if changed && !self.new_lots.contains_key(&id) {
            self.changed_lots.insert(id);
        }
        let new = lot.expires_on?;
        (old != Some(new)).then_some((new, old))
    }

    /// Puts a piece where it arrived, and gives it its numbered lot when none was on record.
    fn put(
        &mut self,
        product: Uuid,
        lot: Uuid,
        serial: &str,
        piece: Piece,
        location: Option<Uuid>,
    ) -> (Option<Uuid>, Option<(Uuid, Uuid)>) {
        let numbered = |lot: &Uuid| {
            let lot = self.known.lots.get(lot);
            lot.is_some_and(|lot| lot.number.is_some())
        };
        let unit_lot = piece
            .lot
            .filter(|old| *old != lot && !numbered(old))
            .map(|old| (lot, old));
        let id = piece.unit.unwrap_or_else(|| new_id(self.at));
        let changes = unit_lot.is_some() || location.is_some();
        if piece.unit.is_none() {
            self.new_units.insert(id);
        } else if changes && !self.new_units.contains(&id) {
            self.changed_units.insert(id);
        }
        let key = (product, serial.to_owned());
        let unit = self.known.units.entry(key).or_insert(KnownUnit {
            id,
            lot,
            location,
            claimed_at: None,
            in_stock: false,
        });
        if let Some((new, _)) = unit_lot {
            unit.lot = new;
        }
        if location.is_some() {
            unit.location = location;
            unit.in_stock = true;
        }
        (Some(id), unit_lot)
    }
}
