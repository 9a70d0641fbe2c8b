//! A piece goes back on the shelf, or off it again.

use super::standing::UseRow;
use crate::database::StoreError;
use crate::recorder::Writing;
use crate::schema::{products, units, uses};
use crate::stock::level::{self, Change, Movement};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::cases::MovementKind;
use lotwarden_domain::catalogue::UseClass;
use uuid::Uuid;

/// What kept a piece from being taken off the shelf again.
pub(super) enum NotTaken {
    /// It is on another case since.
    ClaimedElsewhere,
    /// The place it went back to has none left.
    NoneLeft,
}

/// Gives the piece free for other cases and adds it to its place: the one it was put to last, else
/// the one it was drawn from.
pub(super) async fn put_back(writing: &mut Writing<'_>, piece: &UseRow) -> Result<(), StoreError> {
    diesel::update(uses::table.find((piece.lot_id, piece.scan_id)))
        .set(uses::claims_unit.eq(false))
        .execute(writing.connection)
        .await?;
    let Some(drawn_from) = piece.drawn_from else {
        return Ok(());
    };
    let place = put_last(writing, piece).await?.unwrap_or(drawn_from);
    match level::change(writing, &of(piece, place, MovementKind::Returned, 1)).await? {
        Change::Done => Ok(()),
        // No place has a thousand million of anything.
        Change::TooFew | Change::TooMany => Err(StoreError::Unfit),
    }
}

/// Claims the piece and draws it from its place again, or leaves everything as it is.
pub(super) async fn take_again(
    writing: &mut Writing<'_>,
    piece: &UseRow,
) -> Result<Result<(), NotTaken>, StoreError> {
    if let Some(unit) = piece.unit_id {
        let use_class: String = products::table
            .find(piece.product_id)
            .select(products::use_class)
            .first(writing.connection)
            .await?;
        let use_class: UseClass = use_class.parse().map_err(|_| StoreError::Unfit)?;
        if use_class.one_case_only() {
            // Nobody claims it in between: the transaction has the ledger's head.
            let other = uses::table.filter(uses::unit_id.eq(unit).and(uses::claims_unit));
            let claimed = diesel::select(exists(other)).get_result(writing.connection);
            if claimed.await? {
                return Ok(Err(NotTaken::ClaimedElsewhere));
            }
            diesel::update(uses::table.find((piece.lot_id, piece.scan_id)))
                .set(uses::claims_unit.eq(true))
                .execute(writing.connection)
                .await?;
        }
    }
    let Some(drawn_from) = piece.drawn_from else {
        return Ok(Ok(()));
    };
    let put_last = put_last(writing, piece).await?;
    let place = put_last.unwrap_or(drawn_from);
    if piece.unit_id.is_some() {
        // What stands there for another piece is not taken in its place.
        let own = put_last.and(piece.unit_id);
        let standing = level::standing(writing.connection, Some(place), None).await?;
        let is_it =
            |row: &level::Standing| row.unit == own && (own.is_some() || row.lot == piece.lot_id);
        if !standing.iter().any(is_it) {
            return Ok(Err(NotTaken::NoneLeft));
        }
    }
    let drawn = level::change(writing, &of(piece, place, MovementKind::Used, -1)).await?;
    Ok(match drawn {
        Change::Done => Ok(()),
        Change::TooFew | Change::TooMany => Err(NotTaken::NoneLeft),
    })
}

/// Where a piece was put last; none for what has no serial or came in a package.
async fn put_last(writing: &mut Writing<'_>, piece: &UseRow) -> Result<Option<Uuid>, StoreError> {
    let Some(unit) = piece.unit_id else {
        return Ok(None);
    };
    let place = units::table.find(unit).select(units::location_id);
    Ok(place.first(writing.connection).await?)
}

fn of(piece: &UseRow, place: Uuid, kind: MovementKind, quantity: i32) -> Movement {
    Movement {
        lot: piece.lot_id,
        unit: piece.unit_id,
        place,
        kind,
        quantity,
        cause: piece.scan_id,
    }
}
