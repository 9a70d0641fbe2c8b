//! What is on hand: the levels, and the movements they are the sums of.

use crate::database::StoreError;
use crate::recorder::Writing;
use crate::schema::{shelf_movements, stock_levels, units};
use diesel::prelude::*;
use diesel::query_dsl::methods::FilterDsl;
use diesel::sql_types::{Array, BigInt, Nullable, Uuid as SqlUuid};
use diesel::upsert::excluded;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff_diesel::ToDiesel;
use lotwarden_domain::cases::MovementKind;
use uuid::Uuid;

/// One change of stock at one place.
pub(crate) struct Movement {
    pub(crate) lot: Uuid,
    pub(crate) unit: Option<Uuid>,
    pub(crate) place: Uuid,
    pub(crate) kind: MovementKind,
    /// What comes; what leaves is negative.
    pub(crate) quantity: i32,
    /// What moved it.
    pub(crate) cause: Uuid,
}

/// Units of a lot at one place at most; what many deliveries and counts add up to stays far inside
/// the numbers that a row holds.
pub(crate) const MOST_AT_PLACE: i32 = 1_000_000_000;

/// What came of changing a level.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Change {
    /// It is changed and its movement is written.
    Done,
    /// The place has less than would leave it; nothing is written.
    TooFew,
    /// The place would have more than [`MOST_AT_PLACE`]; nothing is written.
    TooMany,
}

/// Changes a level and writes its movement, or neither.
pub(crate) async fn change(
    writing: &mut Writing<'_>,
    movement: &Movement,
) -> Result<Change, StoreError> {
    let key = (movement.lot, movement.place);
    let changed = if movement.quantity < 0 {
        diesel::update(stock_levels::table.find(key))
            .filter(stock_levels::quantity.ge(-movement.quantity))
            .set(stock_levels::quantity.eq(stock_levels::quantity + movement.quantity))
            .execute(writing.connection)
            .await?
    } else {
        let added = diesel::insert_into(stock_levels::table)
            .values((
                stock_levels::facility_id.eq(writing.facility.id),
                stock_levels::lot_id.eq(movement.lot),
                stock_levels::location_id.eq(movement.place),
                stock_levels::quantity.eq(movement.quantity),
            ))
            .on_conflict((stock_levels::lot_id, stock_levels::location_id))
            .do_update()
            .set(
                stock_levels::quantity
                    .eq(stock_levels::quantity + excluded(stock_levels::quantity)),
            );
        let room = stock_levels::quantity.le(MOST_AT_PLACE - movement.quantity);
        FilterDsl::filter(added, room)
            .execute(writing.connection)
            .await?
    };
    if changed == 0 {
        return Ok(match movement.quantity < 0 {
            true => Change::TooFew,
            false => Change::TooMany,
        });
    }
    diesel::insert_into(shelf_movements::table)
        .values((
            shelf_movements::facility_id.eq(writing.facility.id),
            shelf_movements::lot_id.eq(movement.lot),
            shelf_movements::id.eq(writing.new_id()),
            shelf_movements::unit_id.eq(movement.unit),
            shelf_movements::location_id.eq(movement.place),
            shelf_movements::kind.eq(movement.kind.as_str()),
            shelf_movements::quantity.eq(movement.quantity),
            shelf_movements::cause_id.eq(movement.cause),
            shelf_movements::at.eq(writing.at.to_diesel()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(Change::Done)
}

/// Says where a piece stands from now on; none when it left the site.
pub(super) async fn place_unit(
    writing: &mut Writing<'_>,
    unit: Uuid,
    place: Option<Uuid>,
) -> Result<(), StoreError> {
    diesel::update(units::table.find(unit))
        .set(units::location_id.eq(place))
        .execute(writing.connection)
        .await?;
    Ok(())
}

/// What stands at one place of one lot: a piece, or the number of those without a serial.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct Standing {
    pub(crate) lot: Uuid,
    pub(crate) unit: Option<Uuid>,
    pub(crate) place: Uuid,
    pub(crate) quantity: i32,
}

#[derive(QueryableByName)]
struct Row {
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = Nullable<SqlUuid>)]
    unit_id: Option<Uuid>,
    #[diesel(sql_type = SqlUuid)]
    location_id: Uuid,
    #[diesel(sql_type = BigInt)]
    quantity: i64,
}

/// What stands at a place, of some lots, or both.
///
/// A piece stands where its row says for as long as its movements leave it in stock.
pub(crate) async fn standing(
    connection: &mut AsyncPgConnection,
    place: Option<Uuid>,
    lots: Option<&[Uuid]>,
) -> Result<Vec<Standing>, StoreError> {
    let rows: Vec<Row> = diesel::sql_query(
        "WITH piece AS (
            SELECT u.lot_id, u.id AS unit_id, u.location_id
            FROM units u JOIN movements m ON m.lot_id = u.lot_id AND m.unit_id = u.id
            WHERE u.location_id IS NOT NULL AND ($1 IS NULL OR u.location_id = $1) AND ($2 IS NULL OR u.lot_id = ANY ($2))
            GROUP BY u.id HAVING sum(m.quantity) > 0)
         SELECT lot_id, unit_id, location_id, 1::bigint AS quantity FROM piece
         UNION ALL
         SELECT s.lot_id, NULL, s.location_id, s.quantity - count(p.unit_id)
         FROM stock_levels s LEFT JOIN piece p ON p.lot_id = s.lot_id AND p.location_id = s.location_id
         WHERE s.quantity > 0 AND ($1 IS NULL OR s.location_id = $1) AND ($2 IS NULL OR s.lot_id = ANY ($2))
         GROUP BY s.lot_id, s.location_id HAVING s.quantity > count(p.unit_id)
         ORDER BY lot_id, location_id, unit_id",
    )
    .bind::<Nullable<SqlUuid>, _>(place)
    .bind::<Nullable<Array<SqlUuid>>, _>(lots)
    .load(connection)
    .await?;
    let rows = rows.into_iter().map(|row| {
        Ok(Standing {
            lot: row.lot_id,
            unit: row.unit_id,
            place: row.location_id,
            quantity: row.quantity.try_into().map_err(|_| StoreError::Unfit)?,
        })
    });
    rows.collect()
}
