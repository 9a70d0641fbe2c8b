//! Placing a hold.

use super::{Hold, HoldRow};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{holds, lots, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::HoldScope;
use serde::Serialize;
use uuid::Uuid;

/// Bars a product, one of its lots, or one piece from use.
#[derive(Clone, Debug)]
pub struct PlaceHold {
    /// The product, lot or piece, according to the scope.
    pub target: Uuid,
    /// What is barred.
    pub scope: HoldScope,
    /// Why: 3 to 500 characters, never a patient's identity.
    pub reason: String,
}

/// Why a hold is not placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum PlaceHoldRefusal {
    /// There is no such product, lot or piece.
    #[error("there is no such product, lot or piece")]
    NoSuchTarget,
}

#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<Uuid>,
    product: Uuid,
    reason: &'a str,
    scope: HoldScope,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

impl Operation for PlaceHold {
    type Permission = act::PlaceHold;
    type Outcome = Hold;
    type Refusal = PlaceHoldRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Hold, Refused<PlaceHoldRefusal>> {
        let id = writing.new_id();
        let data = self.data(writing).await?;
        let row: HoldRow = diesel::insert_into(holds::table)
            .values((
                holds::facility_id.eq(writing.facility.id),
                holds::id.eq(id),
                holds::scope.eq(self.scope.as_str()),
                holds::product_id.eq(data.product),
                holds::lot_id.eq(data.lot),
                holds::unit_id.eq(data.unit),
                holds::reason.eq(&self.reason),
                holds::placed_by.eq(writing.actor.to_string()),
                holds::placed_at.eq(writing.at.to_diesel()),
            ))
            .returning(HoldRow::as_select())
            .get_result(writing.connection)
            .await?;
        writing.append("place_hold", Subject::new("hold", id), &data)?;
        Ok(row.try_into()?)
    }
}

impl PlaceHold {
    async fn data(&self, writing: &mut Writing<'_>) -> Result<Data<'_>, Refused<PlaceHoldRefusal>> {
        use crate::schema::products;
        let target = self.target;
        let connection = &mut *writing.connection;
        let product: Option<Uuid> = match self.scope {
            HoldScope::Product => {
                products::table
                    .find(target)
                    .select(products::id)
                    .first(connection)
                    .await
            }
            HoldScope::Lot => {
                lots::table
                    .find(target)
                    .select(lots::product_id)
                    .first(connection)
                    .await
            }
            HoldScope::Unit => {
                units::table
                    .find(target)
                    .select(units::product_id)
                    .first(connection)
                    .await
            }
        }
        .optional()?;
        let product = product.ok_or(Refused::Because(PlaceHoldRefusal::NoSuchTarget))?;
        let lot = (self.scope == HoldScope::Lot).then_some(target);
        let unit = (self.scope == HoldScope::Unit).then_some(target);
        Ok(Data {
            lot,
            product,
            reason: &self.reason,
            scope: self.scope,
            unit,
        })
    }
}
