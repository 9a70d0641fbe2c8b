//! A piece goes back on the shelf, or off it again.

use super::standing::UseRow;
use crate::database::StoreError;
use crate::recorder::Writing;
use crate::schema::{products, unit_claims};
use crate::stock::level::{self, Change, Movement};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
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
    diesel::delete(unit_claims::table)
        .filter(unit_claims::unit_id.nullable().eq(piece.unit_id))
        .filter(unit_claims::scan_id.eq(piece.scan_id))
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
            let claimed = diesel::insert_into(unit_claims::table)
                .values((
                    unit_claims::facility_id.eq(writing.facility.id),
                    unit_claims::unit_id.eq(unit),
                    unit_claims::case_id.eq(piece.case_id),
                    unit_claims::scan_id.eq(piece.scan_id),
                    unit_claims::taken_at.eq(piece.taken_at.to_diesel()),
                ))
                .on_conflict_do_nothing()
                .execute(writing.connection)
                .await?;
            if claimed == 0 {
                return Ok(Err(NotTaken::ClaimedElsewhere));
            }
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
