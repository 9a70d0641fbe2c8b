//! What lies between the lots and the cases of a random history: mixes, fills and cycles.

use super::{History, Random, Site};
use uuid::Uuid;

/// A mix with the uses that went into it, all of one case.
#[derive(Debug)]
pub struct Mixture {
    pub id: Uuid,
    pub case: Uuid,
    pub uses: Vec<usize>,
}

/// A fill of gas, and where gas of it flowed, by record and case.
#[derive(Debug)]
pub struct Fill {
    pub id: Uuid,
    pub lot: usize,
    pub unit: Option<usize>,
    pub flowed: Vec<(Uuid, Uuid)>,
}

/// A cycle of the sterilizer with the pieces in its one pack, each with its number in their lives.
#[derive(Debug)]
pub struct Cycle {
    pub id: Uuid,
    pub pack: Uuid,
    pub minute: u64,
    /// The case and patient of an immediate-use cycle.
    pub case: Option<(Uuid, Uuid)>,
    pub units: Vec<(usize, usize)>,
}

impl History {
    pub(super) fn ways(&mut self, random: &mut Random, site: &Site) {
        for (at, one) in self.uses.iter().enumerate() {
            if random.chance(20) {
                let case = one.case;
                let known = self.mixtures.iter_mut().find(|mix| mix.case == case);
                match known.filter(|_| random.chance(50)) {
                    Some(mix) => mix.uses.push(at),
                    None => self.mixtures.push(Mixture {
                        id: random.id(),
                        case,
                        uses: vec![at],
                    }),
                }
            }
            if random.chance(20) {
                let of = |fill: &&mut Fill| fill.lot == one.lot && fill.unit == one.unit;
                let flow = random.chance(80).then(|| (random.id(), one.case));
                match self.fills.iter_mut().find(of) {
                    Some(fill) => fill.flowed.extend(flow),
                    None => self.fills.push(Fill {
                        id: random.id(),
                        lot: one.lot,
                        unit: one.unit,
                        flowed: flow.into_iter().collect(),
                    }),
                }
            }
        }
        let mut cycles = vec![0; self.units.len()];
        for at in 0..random.below(4) {
            let mut units = Vec::new();
            for (unit, cycle) in cycles.iter_mut().enumerate() {
                if random.chance(50) {
                    *cycle += 1;
                    units.push((unit, *cycle));
                }
            }
            let case = random.chance(50).then(|| match self.uses.first() {
                Some(one) if random.chance(50) => (one.case, one.patient),
                _ => (random.id(), *random.pick(&site.patients)),
            });
            self.cycles.push(Cycle {
                id: random.id(),
                pack: random.id(),
                minute: 1 + 2 * (50 * at + random.below(50)),
                case,
                units,
            });
        }
    }
}
