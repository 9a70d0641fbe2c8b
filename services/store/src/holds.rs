//! Holds: bars on a product, lot or piece.

mod lift_hold;
mod list_holds;
mod place_hold;

pub use lift_hold::{LiftHold, LiftHoldRefusal};
pub use list_holds::{HoldFilter, list, show};
pub use place_hold::{PlaceHold, PlaceHoldRefusal};

use crate::schema::holds;
use diesel::prelude::*;
use jiff::Timestamp;
use lotwarden_domain::cases::HoldScope;
use uuid::Uuid;

/// A hold as it stands.
#[derive(Clone, Debug)]
pub struct Hold {
    /// The hold.
    pub id: Uuid,
    /// What it bars.
    pub scope: HoldScope,
    /// The product.
    pub product: Uuid,
    /// The lot, for a hold on a lot.
    pub lot: Option<Uuid>,
    /// The piece, for a hold on a piece.
    pub unit: Option<Uuid>,
    /// Why, in the words of the person who placed it.
    pub reason: String,
    /// Who placed it, as the ledger writes it.
    pub placed_by: String,
    /// When it was placed.
    pub placed_at: Timestamp,
    /// The recall notice that placed it.
    pub notice: Option<Uuid>,
    /// Who lifted it, when and why.
    pub lifted: Option<Lifted>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// The end of a hold.
#[derive(Clone, Debug)]
pub struct Lifted {
    /// Who, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
    /// Why.
    pub reason: String,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = holds)]
pub(crate) struct HoldRow {
    id: Uuid,
    scope: String,
    product_id: Uuid,
    lot_id: Option<Uuid>,
    unit_id: Option<Uuid>,
    reason: String,
    placed_by: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    placed_at: Timestamp,
    lifted_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    lifted_at: jiff_diesel::NullableTimestamp,
    lift_reason: Option<String>,
    version: i32,
    notice_id: Option<Uuid>,
}

impl TryFrom<HoldRow> for Hold {
    type Error = crate::StoreError;

    fn try_from(row: HoldRow) -> Result<Self, Self::Error> {
        let lifted = row
            .lifted_by
            .zip(row.lifted_at.to_jiff())
            .zip(row.lift_reason);
        Ok(Self {
            id: row.id,
            scope: row.scope.parse().map_err(|_| crate::StoreError::Unfit)?,
            product: row.product_id,
            lot: row.lot_id,
            unit: row.unit_id,
            reason: row.reason,
            placed_by: row.placed_by,
            placed_at: row.placed_at,
            notice: row.notice_id,
            lifted: lifted.map(|((by, at), reason)| Lifted { by, at, reason }),
            version: row.version,
        })
    }
}
