//! Routine checks and their records as their rows say.

use super::{NewRoutine, Routine, RoutineRecord};
use crate::database::StoreError;
use crate::schema::{locations, routine_records, routines};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use serde_json::Value;
use uuid::Uuid;

#[derive(Queryable, Selectable)]
#[diesel(table_name = routines)]
struct Row {
    id: Uuid,
    name: String,
    location_id: Option<Uuid>,
    every: String,
    two_people: bool,
    asked: Value,
    source: String,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    starts_on: Date,
    #[diesel(deserialize_as = jiff_diesel::NullableDate)]
    ended_on: jiff_diesel::NullableDate,
    end_reason: Option<String>,
}

/// Reads the site's list, or one check of it.
pub(super) async fn of(
    connection: &mut AsyncPgConnection,
    one: Option<Uuid>,
) -> Result<Vec<Routine>, StoreError> {
    let mut query = routines::table
        .left_join(locations::table.on(locations::id.nullable().eq(routines::location_id)))
        .order(routines::id)
        .select((Row::as_select(), locations::name.nullable()))
        .into_boxed();
    if let Some(id) = one {
        query = query.filter(routines::id.eq(id));
    }
    let rows: Vec<(Row, Option<String>)> = query.load(connection).await?;
    rows.into_iter().map(routine).collect()
}

fn routine((row, location_name): (Row, Option<String>)) -> Result<Routine, StoreError> {
    Ok(Routine {
        id: row.id,
        new: NewRoutine {
            asked: serde_json::from_value(row.asked).map_err(|_| StoreError::Unfit)?,
            every: row.every.parse().map_err(|_| StoreError::Unfit)?,
            location: row.location_id,
            name: row.name,
            source: row.source,
            two_people: row.two_people,
        },
        location_name,
        starts_on: row.starts_on,
        ended: row.ended_on.to_jiff().zip(row.end_reason),
    })
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = routine_records)]
pub(super) struct RecordRow {
    id: Uuid,
    routine_id: Uuid,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    done_at: Timestamp,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    done_on: Date,
    late: bool,
    found: Value,
    out_of_limits: bool,
    action: Option<String>,
    recorded_by: Uuid,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    recorded_at: Timestamp,
    confirmed_by: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    confirmed_at: jiff_diesel::NullableTimestamp,
}

impl TryFrom<RecordRow> for RoutineRecord {
    type Error = StoreError;

    fn try_from(row: RecordRow) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            routine: row.routine_id,
            done_at: row.done_at,
            done_on: row.done_on,
            late: row.late,
            found: serde_json::from_value(row.found).map_err(|_| StoreError::Unfit)?,
            out_of_limits: row.out_of_limits,
            action: row.action,
            recorded: (row.recorded_by, row.recorded_at),
            confirmed: row.confirmed_by.zip(row.confirmed_at.to_jiff()),
        })
    }
}
