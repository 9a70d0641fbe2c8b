//! Random histories.

mod rows;
mod ways;

use crate::harness::Suite;
use crate::harness::labels::gtin;
use jiff::civil::{Date, date};
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::notices::{Named, Of, Range};
use lotwarden_store::notices::{Criterion, NewCriterion};
use uuid::Uuid;

pub use rows::write;
pub use ways::{Cycle, Fill, Mixture};

/// Numbers that look random and are the same each time: SplitMix64 (Steele, Lea, Flood 2014; from
/// memory).
pub struct Random(u64);

impl Random {
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// A number below the bound.
    fn below(&mut self, bound: u64) -> u64 {
        self.next() % bound
    }

    fn chance(&mut self, percent: u64) -> bool {
        self.below(100) < percent
    }

    fn pick<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        let at = self.below(of.len() as u64);
        &of[at as usize]
    }

    fn id(&mut self) -> Uuid {
        let high = u128::from(self.next()) << 64;
        let bits = high | u128::from(self.next());
        uuid::Builder::from_random_bytes(bits.to_be_bytes()).into_uuid()
    }

    /// A code as people print and copy it: a stem, zeros, a small number, now and then a space.
    fn code(&mut self, stems: &[&str]) -> String {
        let stem = *self.pick(stems);
        let zeros = *self.pick(&["", "", "", "0", "00"]);
        let space = if self.chance(8) { " " } else { "" };
        format!("{stem}{space}{zeros}{}", 1 + self.below(14))
    }
}

const LOTS: &[&str] = &["L", "L", "l", "Q", "", "0L"];
const SERIALS: &[&str] = &["S", "S", "s", "T"];

#[derive(Debug)]
pub struct Lot {
    pub id: Uuid,
    pub number: Option<String>,
    pub expires_on: Option<Date>,
    /// Units of use on the shelf, pieces included.
    pub on_shelf: i32,
}

#[derive(Debug)]
pub struct Unit {
    pub id: Uuid,
    pub lot: usize,
    pub serial: String,
    pub on_shelf: bool,
}

#[derive(Debug)]
pub struct Use {
    pub scan: Uuid,
    pub case: Uuid,
    pub patient: Uuid,
    pub lot: usize,
    pub unit: Option<usize>,
    pub struck: bool,
    /// Minutes into the history; even for uses, odd for cycles.
    pub minute: u64,
}

/// One criterion, as plain data.
#[derive(Debug, Default)]
pub struct Named1 {
    pub by_unit: bool,
    pub by_package: bool,
    pub by_product: bool,
    pub by_model: bool,
    pub lots: Vec<String>,
    pub serials: Vec<String>,
    /// From, to, both with the stem.
    pub lot_range: Option<(u64, u64)>,
    pub serial_range: Option<(u64, u64)>,
    pub window: Option<(Date, Date)>,
    pub all: bool,
    pub product: Uuid,
    pub gtins: [String; 2],
    pub model: String,
}

#[derive(Debug)]
pub struct History {
    pub reference: String,
    pub product: Uuid,
    pub gtins: [String; 2],
    pub model: String,
    pub lots: Vec<Lot>,
    pub units: Vec<Unit>,
    pub uses: Vec<Use>,
    pub mixtures: Vec<Mixture>,
    pub fills: Vec<Fill>,
    pub cycles: Vec<Cycle>,
    pub criteria: Vec<Named1>,
    pub open: bool,
}

pub struct Site {
    facility: Uuid,
    room: String,
    practitioner: Uuid,
    patients: Vec<Uuid>,
}

impl Site {
    pub fn of(suite: &Suite, patients: Vec<String>) -> Self {
        let patients = patients.iter().map(|id| id.parse().expect("an id"));
        Self {
            facility: suite.service.site.facility,
            room: suite.room.clone(),
            practitioner: suite.practitioner.person,
            patients: patients.collect(),
        }
    }
}

impl Named1 {
    pub fn confirmed(&self) -> NewCriterion {
        let mut codes = Vec::new();
        for (named, code) in [self.by_unit, self.by_package].into_iter().zip(&self.gtins) {
            if named {
                codes.push(ProductCode {
                    agency: "gs1",
                    code: code.clone(),
                });
            }
        }
        let range = |of, stem: &str, ends: &Option<(u64, u64)>| {
            let code = |number: u64| Some(format!("{stem}{number}"));
            ends.map(|(from, to)| Range::between(of, code(from), code(to)))
        };
        let lots = range(Of::Lot, "L", &self.lot_range);
        let serials = range(Of::Serial, "S", &self.serial_range);
        let criterion = Criterion {
            catalogue_numbers: self
                .by_model
                .then(|| self.model.to_lowercase())
                .into_iter()
                .collect(),
            identifiers: codes.iter().map(ToString::to_string).collect(),
            items: Named {
                all: self.all,
                expires_from: self.window.map(|(from, _)| from),
                expires_to: self.window.map(|(_, to)| to),
                lots: self.lots.clone(),
                ranges: lots.into_iter().chain(serials).collect(),
                serials: self.serials.clone(),
            },
            product_ids: self
                .by_product
                .then_some(self.product)
                .into_iter()
                .collect(),
        };
        NewCriterion { criterion, codes }
    }
}

impl History {
    pub fn make(random: &mut Random, site: &Site, number: usize) -> Self {
        let item = 700_000_000 + 2 * u32::try_from(number).expect("a small number");
        let mut history = Self {
            reference: format!("H-{number}"),
            product: random.id(),
            gtins: [gtin(item), gtin(item + 1)],
            model: format!("MK {number}"),
            lots: Vec::new(),
            units: Vec::new(),
            uses: Vec::new(),
            mixtures: Vec::new(),
            fills: Vec::new(),
            cycles: Vec::new(),
            criteria: Vec::new(),
            open: random.chance(6),
        };
        history.stock(random);
        for _ in 0..random.below(9) {
            let unit = random.chance(40) && !history.units.is_empty();
            let unit = unit.then(|| random.below(history.units.len() as u64) as usize);
            // A piece is now and then used under another lot than the one on its record.
            let lot = match unit {
                Some(unit) if random.chance(80) => history.units[unit].lot,
                _ => random.below(history.lots.len() as u64) as usize,
            };
            let same_case = random.chance(35) && !history.uses.is_empty();
            let (case, patient) = if same_case {
                let before = random.pick(&history.uses);
                (before.case, before.patient)
            } else {
                (random.id(), *random.pick(&site.patients))
            };
            history.uses.push(Use {
                scan: random.id(),
                case,
                patient,
                lot,
                unit,
                struck: random.chance(15),
                minute: 2 * random.below(100),
            });
        }
        history.ways(random, site);
        for _ in 0..=random.below(3) {
            let one = history.criterion(random);
            history.criteria.push(one);
        }
        history
    }

    fn stock(&mut self, random: &mut Random) {
        for at in 0..=random.below(6) {
            let number = (at > 0 || random.chance(50)).then(|| random.code(LOTS));
            // A product has each lot once.
            if self.lots.iter().any(|lot| lot.number == number) {
                continue;
            }
            let month = i8::try_from(1 + random.below(4)).expect("a month");
            self.lots.push(Lot {
                id: random.id(),
                expires_on: (number.is_some() && random.chance(70)).then(|| date(2027, month, 15)),
                number,
                on_shelf: i32::try_from(random.below(4)).expect("few"),
            });
        }
        for _ in 0..random.below(6) {
            let serial = random.code(SERIALS);
            if self.units.iter().any(|unit| unit.serial == serial) {
                continue;
            }
            let lot = random.below(self.lots.len() as u64) as usize;
            let on_shelf = random.chance(50);
            self.lots[lot].on_shelf += i32::from(on_shelf);
            self.units.push(Unit {
                id: random.id(),
                lot,
                serial,
                on_shelf,
            });
        }
    }

    fn criterion(&self, random: &mut Random) -> Named1 {
        let mut one = Named1 {
            product: self.product,
            gtins: self.gtins.clone(),
            model: self.model.clone(),
            ..Named1::default()
        };
        match random.below(10) {
            0..4 => one.by_unit = true,
            4..6 => one.by_package = true,
            6..7 => one.by_product = true,
            7..9 => one.by_model = true,
            _ => (one.by_unit, one.by_model) = (true, true),
        }
        let from = 1 + random.below(10);
        let range = (from, from + random.below(6));
        let month = i8::try_from(1 + random.below(4)).expect("a month");
        let window = (date(2027, month, 1), date(2027, month, 28));
        let kind = random.below(10);
        if kind < 5 {
            for _ in 0..=random.below(3) {
                one.lots.push(random.code(LOTS));
            }
        }
        if matches!(kind, 4..7) {
            one.lot_range = Some(range);
        }
        if matches!(kind, 3 | 7) {
            for _ in 0..=random.below(3) {
                one.serials.push(random.code(SERIALS));
            }
        }
        if random.chance(8) {
            one.serial_range = Some(range);
        }
        if kind == 8 || random.chance(10) {
            one.window = Some(window);
        }
        if kind == 9 {
            one.all = random.chance(70);
        }
        one
    }
}
