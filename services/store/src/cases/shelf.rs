//! A piece goes back on the shelf, or off it again.

use super::standing::UseRow;
use crate::database::StoreError;
use crate::recorder::Writing;
use crate::schema::{products, uses};
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

/// Gives the piece free for other cases and adds it to the place it was drawn from.
pub(super) async fn put_back(writing: &mut Writing<'_>, piece: &UseRow) -> Result<(), StoreError> {
    diesel::update(uses::table.find((piece.lot_id, piece.scan_id)))
        .set(uses::claims_unit.eq(false))
        .execute(writing.connection)
        .await?;
    let Some(place) = piece.drawn_from else {
        return Ok(());
    };
    match level::change(writing, &of(piece, place, MovementKind::Returned, 1)).await? {
        Change::Done => Ok(()),
        // No place has a thousand million of anything.
        Change::TooFew | Change::TooMany => Err(StoreError::Unfit),
    }
}

/// Claims the piece and draws it from the same place again, or leaves everything as it is.
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
    let Some(place) = piece.drawn_from else {
        return Ok(Ok(()));
    };
    let drawn = level::change(writing, &of(piece, place, MovementKind::Used, -1)).await?;
    Ok(match drawn {
        Change::Done => Ok(()),
        Change::TooFew | Change::TooMany => Err(NotTaken::NoneLeft),
    })
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
