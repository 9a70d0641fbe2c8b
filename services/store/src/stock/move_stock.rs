//! Moving stock from one place to another.

use super::level::{self, Change, MOST_AT_PLACE, Movement};
use super::named_item::{self, ItemOnRecord, NamedItem};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::locations;
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::MovementKind;
use serde::Serialize;
use uuid::Uuid;

/// Moves packages of one label, or units of one lot, to another place.
#[derive(Clone, Debug)]
pub struct MoveStock {
    /// What is moved.
    pub item: NamedItem,
    /// Packages with the label, or units of the lot; 1 for a piece.
    pub quantity: u32,
    /// Where they stand; none when they stand at one place alone.
    pub from: Option<Uuid>,
    /// Where they are put.
    pub to: Uuid,
}

/// What was moved.
#[derive(Clone, Debug)]
pub struct Moved {
    /// The move.
    pub id: Uuid,
    /// The item.
    pub item: ItemOnRecord,
    /// Where it stood.
    pub from: Uuid,
    /// Where it stands.
    pub to: Uuid,
    /// Units of use.
    pub quantity: i32,
}

/// Why stock is not moved.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum MoveStockRefusal {
    /// Nothing of the kind was ever received or scanned.
    #[error("no such item is on record; it has to be received first")]
    NoSuchItem,
    /// There is no such place.
    #[error("there is no such place")]
    NoSuchLocation,
    /// A piece is one.
    #[error("a piece with a serial is one")]
    PieceIsOne,
    /// It stands there already.
    #[error("it stands at this place already")]
    SamePlace,
    /// It stands at several places.
    #[error("it stands at several places; say which one it is taken from")]
    SeveralPlaces,
    /// There is not as much to move.
    #[error("the record has fewer of it there")]
    NotThere,
    /// More than a place may have.
    #[error("a place has at most {MOST_AT_PLACE} of a lot; move fewer")]
    TooMany,
}

#[derive(Serialize)]
struct Data {
    from: Uuid,
    lot: Uuid,
    product: Uuid,
    quantity: i32,
    to: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

impl Operation for MoveStock {
    type Permission = act::MoveStock;
    type Outcome = Moved;
    type Refusal = MoveStockRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Moved, Refused<MoveStockRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let found = named_item::find(writing.connection, writing.facility.id, &self.item).await?;
        let Some((item, packed)) = found else {
            return refuse(MoveStockRefusal::NoSuchItem);
        };
        if item.unit.is_some() && self.quantity != 1 {
            return refuse(MoveStockRefusal::PieceIsOne);
        }
        let known = diesel::select(exists(locations::table.find(self.to)));
        if !known.get_result::<bool>(writing.connection).await? {
            return refuse(MoveStockRefusal::NoSuchLocation);
        }
        let mut standing =
            level::standing(writing.connection, self.from, Some(&[item.lot])).await?;
        standing.retain(|row| row.unit == item.unit);
        let here = standing.iter().any(|row| row.place == self.to);
        if self.from.is_none() {
            standing.retain(|row| row.place != self.to);
        }
        let from = match standing.as_slice() {
            [] if here => return refuse(MoveStockRefusal::SamePlace),
            [] => return refuse(MoveStockRefusal::NotThere),
            [only] if only.place == self.to => return refuse(MoveStockRefusal::SamePlace),
            [only] => *only,
            _ => return refuse(MoveStockRefusal::SeveralPlaces),
        };
        let units = i64::from(self.quantity) * i64::from(packed);
        let quantity = match i32::try_from(units) {
            Ok(units) if units <= from.quantity => units,
            _ => return refuse(MoveStockRefusal::NotThere),
        };
        let id = writing.new_id();
        for (place, quantity) in [(from.place, -quantity), (self.to, quantity)] {
            let movement = Movement {
                lot: item.lot,
                unit: item.unit,
                place,
                kind: MovementKind::Moved,
                quantity,
                cause: id,
            };
            match level::change(writing, &movement).await? {
                Change::Done => {}
                Change::TooFew => return refuse(MoveStockRefusal::NotThere),
                Change::TooMany => return refuse(MoveStockRefusal::TooMany),
            }
        }
        if let Some(unit) = item.unit {
            level::place_unit(writing, unit, Some(self.to)).await?;
        }
        let data = Data {
            from: from.place,
            lot: item.lot,
            product: item.product,
            quantity,
            to: self.to,
            unit: item.unit,
        };
        writing.append("move_stock", Subject::new("move", id), &data)?;
        Ok(Moved {
            id,
            item,
            from: from.place,
            to: self.to,
            quantity,
        })
    }
}
