//! What a notice hits: on cases, on shelves, in receipts and at stopped scans.

mod places;
mod products;
mod through;
mod uses;

use super::watch::{Item, ItemLot};
use crate::database::StoreError;
use crate::where_used::Through;
use diesel_async::AsyncPgConnection;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::{CaseStatus, Disposition};
use lotwarden_domain::notices::{MatchClass, Witness};
pub(crate) use products::Scope;
use std::collections::BTreeSet;
pub(super) use uses::Asked;
use uuid::Uuid;

/// Everything a notice hits, by its confirmed criteria and the catalogue as it stands.
#[derive(Clone, Debug, Default)]
pub struct Matches {
    /// The products it names here.
    pub products: Vec<ProductMatched>,
    /// The lots in question.
    pub lots: Vec<LotMatched>,
    /// The items on cases: by their scans, oldest first, then those of other records.
    pub items: Vec<ItemMatched>,
    /// Stock in question, by place.
    pub on_hand: Vec<OnHandMatched>,
    /// Uses left out because their scans were taken back and no other record has them.
    pub struck: u64,
}

/// A product that a notice names.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ProductMatched {
    /// The product.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// Who makes it.
    pub maker: String,
    /// The maker's model.
    pub model: String,
}

/// A lot that a notice hits.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct LotMatched {
    /// The lot.
    pub id: Uuid,
    /// The product.
    pub product: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    pub number: Option<String>,
    /// The last usable day on record.
    pub expires_on: Option<Date>,
    /// How it is hit.
    pub class: MatchClass,
}

/// An item on a case that a notice hits.
#[derive(Clone, Debug)]
pub struct ItemMatched {
    /// How it is hit.
    pub class: MatchClass,
    /// Which record says that it was on the case.
    pub witness: Witness,
    /// The scan that put it on the case; none where none stands.
    pub scan: Option<Uuid>,
    /// The mixes it went into, the fill of gas it is and the load it came from.
    pub through: Vec<Uuid>,
    /// The case.
    pub case: Uuid,
    /// What was done.
    pub procedure: String,
    /// When the case was planned.
    pub scheduled_for: Timestamp,
    /// The state of the case.
    pub status: CaseStatus,
    /// The patient, by id.
    pub patient: Uuid,
    /// The product.
    pub product: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The serialised piece.
    pub unit: Option<Uuid>,
    /// Its serial, where it was asked for.
    pub serial: Option<String>,
    /// What became of it.
    pub disposition: Disposition,
    /// When it was put on the case, or when the mix was made, the gas was recorded or the cycle
    /// started.
    pub taken_at: Timestamp,
}

/// Stock that a notice hits: pieces where serials are named, else a lot's quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct OnHandMatched {
    /// How it is hit.
    pub class: MatchClass,
    /// The product.
    pub product: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The piece.
    pub unit: Option<Uuid>,
    /// The place, by id and name.
    pub location: (Uuid, String),
    /// Units of use.
    pub quantity: i32,
}

/// A line of a receipt that brought in a lot of the notice.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReceiptMatched {
    /// How it is hit.
    pub class: MatchClass,
    /// The receipt.
    pub receipt: Uuid,
    /// When.
    pub received_at: Timestamp,
    /// The lot.
    pub lot: Uuid,
    /// The piece.
    pub unit: Option<Uuid>,
    /// The place it was put.
    pub location: Uuid,
    /// Units of use received.
    pub quantity: i32,
}

/// A scan of an item of the notice that was stopped: it did not go on the case.
#[derive(Clone, Debug)]
pub struct StoppedMatched {
    /// How it is hit.
    pub class: MatchClass,
    /// The scan.
    pub scan: Uuid,
    /// The case.
    pub case: Uuid,
    /// The lot.
    pub lot: Uuid,
    /// The piece.
    pub unit: Option<Uuid>,
    /// When, by the station's clock.
    pub occurred_at: Timestamp,
}

/// The matches in numbers.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct MatchCounts {
    /// Items on cases that are named as they stand.
    pub affected: usize,
    /// Items on cases that are named but for case, spaces and leading zeros.
    pub possible: usize,
    /// Items on cases whose record does not leave them out.
    pub cannot_exclude: usize,
    /// Cases with any of them.
    pub cases: usize,
    /// Those of the cases that are not over.
    pub open_cases: usize,
    /// Patients of the cases.
    pub patients: usize,
    /// Units of use on shelves.
    pub on_hand: i64,
}

impl Matches {
    /// The matches in numbers.
    #[must_use]
    pub fn counts(&self) -> MatchCounts {
        let of = |class| self.items.iter().filter(|item| item.class == class).count();
        let cases: BTreeSet<Uuid> = self.items.iter().map(|item| item.case).collect();
        let open = self.items.iter().filter(|item| item.status.takes_items());
        let open: BTreeSet<Uuid> = open.map(|item| item.case).collect();
        let patients: BTreeSet<Uuid> = self.items.iter().map(|item| item.patient).collect();
        MatchCounts {
            affected: of(MatchClass::Affected),
            possible: of(MatchClass::Possible),
            cannot_exclude: of(MatchClass::CannotExclude),
            cases: cases.len(),
            open_cases: open.len(),
            patients: patients.len(),
            on_hand: self
                .on_hand
                .iter()
                .map(|stock| i64::from(stock.quantity))
                .sum(),
        }
    }

    /// The cases with matches, in the order of their ids.
    pub(super) fn cases(&self) -> Vec<Uuid> {
        let cases: BTreeSet<Uuid> = self.items.iter().map(|item| item.case).collect();
        cases.into_iter().collect()
    }
}

/// Finds everything a notice hits, and the scope it was found in.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    notice: Uuid,
    asked: Asked,
) -> Result<(Matches, Scope), StoreError> {
    let scope = Scope::of(connection, facility, notice).await?;
    let (items, struck) = items(connection, &scope, asked).await?;
    let in_question = scope.lots_in_question();
    let lots = match asked {
        Asked::All | Asked::Counts => in_question,
        Asked::Lot(lot) => in_question.into_iter().filter(|one| *one == lot).collect(),
        Asked::Patient(_) => Vec::new(),
    };
    let on_hand = places::on_hand(connection, &scope, &lots).await?;
    let matches = Matches {
        products: scope.products.clone(),
        lots: scope.hit.clone(),
        items,
        on_hand,
        struck,
    };
    Ok((matches, scope))
}

/// The items on cases, and how many are left out because their scans were taken back.
async fn items(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
) -> Result<(Vec<ItemMatched>, u64), StoreError> {
    let (mut items, struck) = uses::find(connection, scope, asked).await?;
    let mut unscanned = through::unscanned(connection, scope, asked, &items, &struck).await?;
    unscanned.items.retain(|item| match asked {
        Asked::All | Asked::Counts => true,
        Asked::Lot(lot) => item.lot == lot,
        Asked::Patient(patient) => item.patient == patient,
    });
    items.extend(unscanned.items);
    Ok((items, (struck.len() - unscanned.scans.len()) as u64))
}

/// The mixes, fills of gas and loads between the lots and the cases; each item names its own.
pub(super) async fn through(
    connection: &mut AsyncPgConnection,
    matches: &mut Matches,
) -> Result<Through, StoreError> {
    through::between(connection, &mut matches.items).await
}

/// The receipts that brought the items in, and the scans of them that were stopped.
pub(super) async fn history(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
) -> Result<(Vec<ReceiptMatched>, Vec<StoppedMatched>), StoreError> {
    let receipts = places::receipts(connection, scope).await?;
    let stopped = places::stopped(connection, scope).await?;
    Ok((receipts, stopped))
}

/// An item by its row: its lot, and its piece with the lot on that record.
#[derive(Clone, Copy, Debug)]
struct Row<'a> {
    product: Uuid,
    lot: Uuid,
    unit: Option<(Uuid, &'a str, Uuid)>,
}

impl Scope {
    /// How the notice hits an item.
    fn class(&self, row: Row<'_>) -> Option<MatchClass> {
        let watched = self.watched.get(&row.product)?;
        let mut item = Item {
            lots: vec![self.item_lot(row.lot)?],
            ..Item::default()
        };
        if let Some((id, serial, on_record)) = row.unit {
            item.unit = Some(id);
            item.serial = Some(serial);
            if on_record != row.lot {
                item.lots.push(self.item_lot(on_record)?);
            }
        }
        watched.hit(&item)
    }

    fn item_lot(&self, id: Uuid) -> Option<ItemLot<'_>> {
        let lot = self.lots.get(&id)?;
        Some(ItemLot {
            id,
            number: lot.number.as_deref(),
            expires_on: [lot.expires_on, None],
        })
    }
}
