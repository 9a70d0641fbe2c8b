//! Counting everything at one place.

use super::level;
use super::named_item::{self, NamedItem};
use super::shelf_count::{self, ShelfCount};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{locations, shelf_count_lines, shelf_counts};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Lines that one count may name at most.
pub const MOST_COUNTED: usize = 1_000;

/// Lines in one entry at most: each has at most 200 bytes, and an entry 65,535.
const LINES_IN_ENTRY: usize = 200;

/// Puts on record what a person found at a place. What stands there on record and is not named was
/// not found.
#[derive(Clone, Debug)]
pub struct CountShelf {
    /// The place.
    pub location: Uuid,
    /// What was found, at most [`MOST_COUNTED`]; an item that is named twice was found twice.
    pub found: Vec<(NamedItem, u32)>,
}

/// Why a count is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum CountShelfRefusal {
    /// There is no such place.
    #[error("there is no such place")]
    NoSuchLocation,
    /// Nothing of the kind was ever received or scanned.
    #[error("no such item is on record; it has to be received first")]
    NoSuchItem {
        /// The line, from 0.
        line: usize,
    },
    /// More than one line can hold.
    #[error("a piece with a serial is one, and a lot at most 100,000,000")]
    TooMany {
        /// The line, from 0.
        line: usize,
    },
}

#[derive(Serialize)]
struct Part<'a> {
    first_line: usize,
    line_count: usize,
    lines: &'a [Line],
    location: Uuid,
}

#[derive(Serialize)]
struct Line {
    counted: i32,
    expected: i32,
    lot: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
}

/// Units of one lot at one place at most.
const MOST_UNITS: i64 = 100_000_000;

impl Operation for CountShelf {
    type Permission = act::CountShelf;
    type Outcome = ShelfCount;
    type Refusal = CountShelfRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ShelfCount, Refused<CountShelfRefusal>> {
        let known = diesel::select(exists(locations::table.find(self.location)));
        if !known.get_result::<bool>(writing.connection).await? {
            return Err(Refused::Because(CountShelfRefusal::NoSuchLocation));
        }
        let lines = self.lines(writing).await?;
        let id = writing.new_id();
        diesel::insert_into(shelf_counts::table)
            .values((
                shelf_counts::facility_id.eq(writing.facility.id),
                shelf_counts::id.eq(id),
                shelf_counts::location_id.eq(self.location),
                shelf_counts::actor.eq(writing.actor.to_string()),
                shelf_counts::counted_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let rows: Vec<_> = (1_i32..)
            .zip(&lines)
            .map(|(number, line)| {
                (
                    shelf_count_lines::facility_id.eq(writing.facility.id),
                    shelf_count_lines::count_id.eq(id),
                    shelf_count_lines::line.eq(number),
                    shelf_count_lines::lot_id.eq(line.lot),
                    shelf_count_lines::unit_id.eq(line.unit),
                    shelf_count_lines::expected.eq(line.expected),
                    shelf_count_lines::counted.eq(line.counted),
                )
            })
            .collect();
        for rows in rows.chunks(1_000) {
            diesel::insert_into(shelf_count_lines::table)
                .values(rows)
                .execute(writing.connection)
                .await?;
        }
        // An empty place that was counted is an entry too.
        let parts = lines.chunks(LINES_IN_ENTRY).chain([[].as_slice()]);
        for (at, part) in parts
            .take(lines.len().div_ceil(LINES_IN_ENTRY).max(1))
            .enumerate()
        {
            let data = Part {
                first_line: at * LINES_IN_ENTRY + 1,
                line_count: lines.len(),
                lines: part,
                location: self.location,
            };
            writing.append("count_shelf", Subject::new("count", id), &data)?;
        }
        let count = shelf_count::find(writing.connection, id).await?;
        Ok(count.ok_or(StoreError::Unfit)?)
    }
}

impl CountShelf {
    /// Every lot and piece that is on record there or was found, with both numbers.
    async fn lines(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Vec<Line>, Refused<CountShelfRefusal>> {
        let here = level::standing(writing.connection, Some(self.location), None).await?;
        let mut numbers: BTreeMap<(Uuid, Option<Uuid>), (i32, i64)> = here
            .iter()
            .map(|row| ((row.lot, row.unit), (row.quantity, 0)))
            .collect();
        let named = self.found.iter().map(|(item, _)| item);
        let facility = writing.facility.id;
        let items = named_item::find_all(writing.connection, facility, named).await?;
        for (line, (_, quantity)) in self.found.iter().enumerate() {
            let Some((item, packed)) = items.get(&line) else {
                return Err(Refused::Because(CountShelfRefusal::NoSuchItem { line }));
            };
            let key = (item.lot, item.unit);
            let (_, counted) = numbers.entry(key).or_default();
            *counted += i64::from(*quantity) * i64::from(*packed);
            let most = if key.1.is_some() { 1 } else { MOST_UNITS };
            if *counted > most {
                return Err(Refused::Because(CountShelfRefusal::TooMany { line }));
            }
        }
        let lines = numbers.into_iter();
        let lines = lines.map(|((lot, unit), (expected, counted))| {
            let counted = counted.try_into().map_err(|_| StoreError::Unfit)?;
            Ok(Line {
                counted,
                expected,
                lot,
                unit,
            })
        });
        Ok(lines.collect::<Result<_, StoreError>>()?)
    }
}
