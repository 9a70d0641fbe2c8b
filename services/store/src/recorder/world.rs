//! What the writer knows of the facility: facts read from the database, kept for as long as nobody
//! else moves the ledger's head, with the effects of its own commits applied.

mod load;

pub(crate) use load::{load, read_labels};

use crate::cylinders::Cylinder;
use crate::loads::{LimitRow, Processed};
use crate::notices::watch::Watched;
use crate::vials::Vial;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_codes::Separators;
use lotwarden_domain::cases::{CaseStatus, HoldScope};
use lotwarden_domain::catalogue::{LabelCarries, UseClass};
use lotwarden_domain::label::ProductCode;
use lotwarden_domain::policy::SitePolicy;
use std::collections::HashMap;
use uuid::Uuid;

/// Facts beyond this many are dropped and read again, so that memory stays bounded: about 40 MB.
const MOST: usize = 60_000;

/// The facts by their natural keys; `None` is the known absence of a row.
#[derive(Default)]
pub(crate) struct World {
    pub(crate) policy: Option<SitePolicy>,
    /// What stands for the separator at each station.
    pub(crate) stations: HashMap<Uuid, Separators>,
    pub(crate) cases: HashMap<Uuid, Option<CaseFacts>>,
    /// The product of each code, and whether it names a package of several units of use.
    pub(crate) codes: HashMap<ProductCode, Option<(Uuid, bool)>>,
    pub(crate) products: HashMap<Uuid, ProductRow>,
    /// The confirmed notices that name a code, whether the catalogue has it or not.
    pub(crate) noticed: HashMap<ProductCode, Vec<Watched>>,
    pub(crate) lot_numbers: HashMap<(Uuid, Option<String>), Option<Uuid>>,
    pub(crate) lots: HashMap<Uuid, LotRow>,
    pub(crate) units: HashMap<(Uuid, String), Option<UnitRow>>,
}

impl World {
    /// Whether it has grown past its bound.
    pub(crate) fn is_full(&self) -> bool {
        let texts: usize = self
            .cases
            .values()
            .flatten()
            .map(|case| case.texts.len())
            .sum();
        self.cases.len() + self.codes.len() + self.lot_numbers.len() + self.units.len() + texts
            > MOST
    }
}

/// A case, as far as the rules ask.
pub(crate) struct CaseFacts {
    pub(crate) status: CaseStatus,
    pub(crate) location: Uuid,
    pub(crate) patient: Uuid,
    pub(crate) wrapped_key: Vec<u8>,
    /// The characters that put a standing use on the case, with the scan that did.
    pub(crate) texts: HashMap<String, Uuid>,
}

/// A product with the holds in force on it, its lots and its pieces.
pub(crate) struct ProductRow {
    pub(crate) name: String,
    pub(crate) catalogued: bool,
    pub(crate) use_class: UseClass,
    pub(crate) carries: LabelCarries,
    pub(crate) holds: Vec<HoldRow>,
    /// The fills of a gas, oldest first.
    pub(crate) cylinders: Vec<Cylinder>,
    /// Its vials that were not discarded, in the order they were punctured.
    pub(crate) vials: Vec<Vial>,
    /// That the site sterilizes it.
    pub(crate) sterilized: Option<LimitRow>,
    /// The confirmed notices that name it.
    pub(crate) notices: Vec<Watched>,
}

/// A hold in force.
pub(crate) struct HoldRow {
    pub(crate) scope: HoldScope,
    pub(crate) lot: Option<Uuid>,
    pub(crate) unit: Option<Uuid>,
    pub(crate) reason: String,
}

/// A lot and where its stock lies.
pub(crate) struct LotRow {
    pub(crate) number: Option<String>,
    pub(crate) expires_on: Option<Date>,
    pub(crate) levels: Vec<(Uuid, i32)>,
    /// The part of it that no piece stands for; read when a piece is met that was never received by
    /// its serial.
    pub(crate) loose: Option<Vec<(Uuid, i32)>>,
}

/// The place to draw one piece from: the room of the case if it has some, else the place with the
/// most.
fn draw_from(levels: &[(Uuid, i32)], room: Uuid) -> Option<Uuid> {
    let stocked = levels.iter().filter(|(_, quantity)| *quantity > 0);
    stocked
        .max_by_key(|(place, quantity)| (*place == room, *quantity))
        .map(|(place, _)| *place)
}

impl LotRow {
    /// The place to draw any piece from.
    pub(crate) fn draw_any(&self, room: Uuid) -> Option<Uuid> {
        draw_from(&self.levels, room)
    }

    /// The place to draw a piece from that was received without its serial.
    pub(crate) fn draw_loose(&self, room: Uuid) -> Option<Uuid> {
        draw_from(self.loose.as_deref()?, room)
    }

    /// The quantity at one place.
    pub(crate) fn at(&self, place: Uuid) -> i32 {
        self.levels
            .iter()
            .find(|(p, _)| *p == place)
            .map_or(0, |(_, quantity)| *quantity)
    }

    /// Takes one piece from a place; a loose one is of those that no piece stands for.
    pub(crate) fn take(&mut self, from: Uuid, loose: bool) {
        let rest = self.loose.iter_mut().flatten().filter(|_| loose);
        for (place, quantity) in self.levels.iter_mut().chain(rest) {
            *quantity -= i32::from(*place == from);
        }
    }
}

/// One serialised piece.
pub(crate) struct UnitRow {
    pub(crate) id: Uuid,
    pub(crate) lot: Uuid,
    pub(crate) location: Option<Uuid>,
    /// Its processing; kept for products that the site sterilizes.
    pub(crate) processed: Processed,
    pub(crate) claim: Option<ClaimRow>,
}

/// The use that claims a piece.
#[derive(Clone, Copy)]
pub(crate) struct ClaimRow {
    pub(crate) case: Uuid,
    pub(crate) scan: Uuid,
    pub(crate) at: Timestamp,
}
