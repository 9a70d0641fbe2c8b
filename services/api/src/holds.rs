//! Holds: bars on a product, lot or piece.

mod lift_hold;
mod list_holds;
mod place_hold;

use lotwarden_domain::cases::HoldScope;
use lotwarden_store::holds as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(place_hold::place_hold)
        .service(list_holds::list_holds)
        .service(list_holds::show_hold)
        .service(lift_hold::lift_hold);
}

/// A hold as it stands.
#[derive(Debug, Serialize, ToSchema)]
pub struct Hold {
    /// The hold.
    id: Uuid,
    /// What it bars: `product`, `lot` or `unit`.
    #[schema(value_type = String, example = "lot")]
    scope: HoldScope,
    /// The product.
    product_id: Uuid,
    /// The lot, for a hold on a lot.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    /// The piece, for a hold on a piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// Why, in the words of the person who placed it.
    #[schema(example = "Pouch seals open on three of five boxes")]
    reason: String,
    /// Who placed it.
    #[schema(example = "person:019353a4-7bb0-7c3e-8f54-0b6d1c2a9e10")]
    placed_by: String,
    /// When.
    #[schema(format = DateTime)]
    placed_at: String,
    /// The recall notice that placed it.
    #[serde(skip_serializing_if = "Option::is_none")]
    notice_id: Option<Uuid>,
    /// Its end; a hold without one is in force.
    #[serde(skip_serializing_if = "Option::is_none")]
    lifted: Option<Lifted>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

/// The end of a hold.
#[derive(Debug, Serialize, ToSchema)]
pub struct Lifted {
    /// Who lifted it.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// Why.
    reason: String,
}

impl From<&store::Hold> for Hold {
    fn from(hold: &store::Hold) -> Self {
        Self {
            id: hold.id,
            scope: hold.scope,
            product_id: hold.product,
            lot_id: hold.lot,
            unit_id: hold.unit,
            reason: hold.reason.clone(),
            placed_by: hold.placed_by.clone(),
            placed_at: instant_text(hold.placed_at),
            notice_id: hold.notice,
            lifted: hold.lifted.as_ref().map(|lifted| Lifted {
                by: lifted.by.clone(),
                at: instant_text(lifted.at),
                reason: lifted.reason.clone(),
            }),
            version: hold.version,
        }
    }
}
