//! Counts of a place, as their rows have them.

use super::named_item::{self, ItemOnRecord};
use super::{Location, level, show_location};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{locations, shelf_adjustments, shelf_count_lines, shelf_counts};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use uuid::Uuid;

/// One count of everything at one place.
#[derive(Clone, Debug)]
pub struct ShelfCount {
    /// The count.
    pub id: Uuid,
    /// The place.
    pub location: Uuid,
    /// Its name.
    pub location_name: String,
    /// Who counted, as the ledger writes it.
    pub actor: String,
    /// When.
    pub at: Timestamp,
    /// Its lines, from 1.
    pub lines: Vec<CountedLine>,
}

/// One lot or piece of a count.
#[derive(Clone, Debug)]
pub struct CountedLine {
    /// The line, from 1.
    pub line: i32,
    /// The item.
    pub item: ItemOnRecord,
    /// What the record said was there.
    pub expected: i32,
    /// What was found.
    pub counted: i32,
    /// That the difference was taken into the record.
    pub adjusted: Option<Adjusted>,
}

/// Who took a difference into the record, and why.
#[derive(Clone, Debug)]
pub struct Adjusted {
    /// Who, as the ledger writes it.
    pub actor: String,
    /// When.
    pub at: Timestamp,
    /// Why.
    pub reason: String,
}

/// What a person counts against: a lot or piece a line, first to expire first.
#[derive(Clone, Debug)]
pub struct SheetLine {
    /// The item.
    pub item: ItemOnRecord,
    /// What the record says is there.
    pub expected: i32,
}

/// The count sheet of a place; none when there is no such place.
///
/// # Errors
/// [`StoreError`].
pub async fn sheet(
    reading: &mut Reading,
    place: Uuid,
) -> Result<Option<(Location, Vec<SheetLine>)>, StoreError> {
    let Some(location) = show_location(reading, place).await? else {
        return Ok(None);
    };
    let standing = level::standing(reading.connection(), Some(place), None).await?;
    let keys: Vec<_> = standing.iter().map(|row| (row.lot, row.unit)).collect();
    let items = named_item::all(reading.connection(), &keys).await?;
    let lines = items.into_iter().zip(standing);
    let mut lines: Vec<_> = lines
        .map(|(item, row)| SheetLine {
            item,
            expected: row.quantity,
        })
        .collect();
    lines.sort_by(|a, b| {
        let key = |line: &SheetLine| {
            let item = &line.item;
            let never = jiff::civil::Date::MAX;
            let name = item.product_name.clone();
            (item.expires_on.unwrap_or(never), name, item.serial.clone())
        };
        key(a).cmp(&key(b))
    });
    Ok(Some((location, lines)))
}

type Head = (Uuid, Uuid, String, String, jiff_diesel::Timestamp);

/// Lists counts, without their lines, in the order they were made.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<ShelfCount>, StoreError> {
    let rows: Vec<Head> = shelf_counts::table
        .inner_join(locations::table.on(locations::id.eq(shelf_counts::location_id)))
        .filter(shelf_counts::id.gt(after.start()))
        .order(shelf_counts::id)
        .limit(after.fetch())
        .select((
            shelf_counts::id,
            shelf_counts::location_id,
            locations::name,
            shelf_counts::actor,
            shelf_counts::counted_at,
        ))
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(without_lines).collect();
    Ok(Page::of(items, after, |count| count.id))
}

fn without_lines((id, location, location_name, actor, at): Head) -> ShelfCount {
    ShelfCount {
        id,
        location,
        location_name,
        actor,
        at: at.to_jiff(),
        lines: Vec::new(),
    }
}

/// Shows a count with its lines; none when there is no such count.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<ShelfCount>, StoreError> {
    find(reading.connection(), id).await
}

type Line = (i32, Uuid, Option<Uuid>, i32, i32);
type Adjustment = (String, jiff_diesel::Timestamp, String);

/// Reads a count on any connection.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<ShelfCount>, StoreError> {
    let head: Option<Head> = shelf_counts::table
        .inner_join(locations::table.on(locations::id.eq(shelf_counts::location_id)))
        .filter(shelf_counts::id.eq(id))
        .select((
            shelf_counts::id,
            shelf_counts::location_id,
            locations::name,
            shelf_counts::actor,
            shelf_counts::counted_at,
        ))
        .first(connection)
        .await
        .optional()?;
    let Some(head) = head else {
        return Ok(None);
    };
    let rows: Vec<(Line, Option<Adjustment>)> = shelf_count_lines::table
        .left_join(
            shelf_adjustments::table.on(shelf_adjustments::count_id
                .eq(shelf_count_lines::count_id)
                .and(shelf_adjustments::line.eq(shelf_count_lines::line))),
        )
        .filter(shelf_count_lines::count_id.eq(id))
        .order(shelf_count_lines::line)
        .select((
            (
                shelf_count_lines::line,
                shelf_count_lines::lot_id,
                shelf_count_lines::unit_id,
                shelf_count_lines::expected,
                shelf_count_lines::counted,
            ),
            (
                shelf_adjustments::actor,
                shelf_adjustments::adjusted_at,
                shelf_adjustments::reason,
            )
                .nullable(),
        ))
        .load(connection)
        .await?;
    let keys: Vec<_> = rows.iter().map(|(line, _)| (line.1, line.2)).collect();
    let items = named_item::all(connection, &keys).await?;
    let lines = rows.into_iter().zip(items);
    let lines = lines.map(|((line, adjusted), item)| CountedLine {
        line: line.0,
        item,
        expected: line.3,
        counted: line.4,
        adjusted: adjusted.map(|(actor, at, reason)| Adjusted {
            actor,
            at: at.to_jiff(),
            reason,
        }),
    });
    let mut count = without_lines(head);
    count.lines = lines.collect();
    Ok(Some(count))
}
