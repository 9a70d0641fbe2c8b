//! What the rules say about a mix by its ingredients and its time.

use crate::database::StoreError;
use crate::notices::watch::{self, Watched};
use crate::recorder::Writing;
use crate::schema::{holds, lots, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::HoldScope;
use lotwarden_domain::notices::MatchClass;
use lotwarden_domain::rules::{Finding, HoldFacts, MixFacts, NoticeFacts, judge_mix};
use uuid::Uuid;

/// An ingredient as holds name it.
#[derive(Clone, Copy)]
pub(super) struct Piece {
    pub(super) product: Uuid,
    pub(super) lot: Uuid,
    pub(super) unit: Option<Uuid>,
}

/// Judges a mix of these ingredients now.
pub(super) async fn judge(
    writing: &mut Writing<'_>,
    pieces: &[Piece],
    use_by: Timestamp,
    use_by_source: &str,
) -> Result<Vec<Finding>, StoreError> {
    let holds = in_force(writing, pieces).await?;
    let holds: Vec<HoldFacts<'_>> = holds
        .iter()
        .map(|(scope, reason, certain)| HoldFacts {
            scope: *scope,
            reason,
            certain: *certain,
        })
        .collect();
    let products: Vec<Uuid> = pieces.iter().map(|piece| piece.product).collect();
    let facility = writing.facility.id;
    let watched = watch::of_products(writing.connection, facility, products).await?;
    let known = known(writing, pieces).await?;
    let hit: Vec<(&Watched, MatchClass)> = pieces
        .iter()
        .zip(&known)
        .filter_map(|(piece, known)| Some((watched.get(&piece.product)?, piece, known)))
        .flat_map(|(notices, piece, known)| watch::hits(notices.iter(), &known.item(piece)))
        .collect();
    let notices: Vec<NoticeFacts<'_>> = hit
        .iter()
        .map(|(notice, class)| notice.facts(*class))
        .collect();
    let local = |at: Timestamp| at.to_zoned(writing.facility.zone.clone()).datetime();
    Ok(judge_mix(&MixFacts {
        now: local(writing.at),
        use_by: local(use_by),
        use_by_source,
        holds: &holds,
        notices: &notices,
    }))
}

/// What is on record of an ingredient's lot and piece.
struct Known {
    number: Option<String>,
    expires_on: Option<Date>,
    serial: Option<String>,
}

impl Known {
    fn item(&self, piece: &Piece) -> watch::Item<'_> {
        watch::Item {
            lots: vec![watch::ItemLot {
                id: piece.lot,
                number: self.number.as_deref(),
                expires_on: [self.expires_on, None],
            }],
            unit: piece.unit,
            serial: self.serial.as_deref(),
        }
    }
}

/// The records of the pieces, in their order.
async fn known(writing: &mut Writing<'_>, pieces: &[Piece]) -> Result<Vec<Known>, StoreError> {
    let mut all = Vec::with_capacity(pieces.len());
    for piece in pieces {
        let (number, expires_on): (Option<String>, jiff_diesel::NullableDate) = lots::table
            .find(piece.lot)
            .select((lots::number, lots::expires_on))
            .first(writing.connection)
            .await?;
        let serial = match piece.unit {
            None => None,
            Some(unit) => {
                let serial = units::table.find(unit).select(units::serial);
                Some(serial.first(writing.connection).await?)
            }
        };
        all.push(Known {
            number,
            expires_on: expires_on.to_jiff(),
            serial,
        });
    }
    Ok(all)
}

/// The holds that hit an ingredient, and those that cannot be excluded because its lot or serial
/// was not recorded.
async fn in_force(
    writing: &mut Writing<'_>,
    pieces: &[Piece],
) -> Result<Vec<(HoldScope, String, bool)>, StoreError> {
    type Row = (Uuid, String, Option<Uuid>, Option<Uuid>, String);
    let products: Vec<Uuid> = pieces.iter().map(|piece| piece.product).collect();
    let rows: Vec<Row> = holds::table
        .filter(holds::product_id.eq_any(products))
        .filter(holds::lifted_at.is_null())
        .order(holds::id)
        .select((
            holds::product_id,
            holds::scope,
            holds::lot_id,
            holds::unit_id,
            holds::reason,
        ))
        .load(writing.connection)
        .await?;
    let blank: Vec<Uuid> = lots::table
        .filter(lots::id.eq_any(pieces.iter().map(|piece| piece.lot)))
        .filter(lots::number.is_null())
        .select(lots::id)
        .load(writing.connection)
        .await?;
    let mut found = Vec::new();
    for (product, scope, lot, unit, reason) in rows {
        let scope: HoldScope = scope.parse().map_err(|_| StoreError::Unfit)?;
        let own = pieces.iter().filter(|piece| piece.product == product);
        let hit = |piece: &Piece| match scope {
            HoldScope::Product => true,
            HoldScope::Lot => lot == Some(piece.lot),
            HoldScope::Unit => unit == piece.unit && unit.is_some(),
        };
        let unknown = |piece: &Piece| match scope {
            HoldScope::Product => false,
            HoldScope::Lot => blank.contains(&piece.lot),
            HoldScope::Unit => piece.unit.is_none(),
        };
        if own.clone().any(hit) {
            found.push((scope, reason, true));
        } else if own.clone().any(unknown) {
            found.push((scope, reason, false));
        }
    }
    Ok(found)
}
