//! Loads as their rows say.

use super::{Indicator, Load, Pack, PackUnit};
use crate::database::StoreError;
use crate::schema::{indicators, loads, pack_units, packs, products, sterilizers, units};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use rust_decimal::Decimal;
use uuid::Uuid;

/// Which loads are read.
#[derive(Clone, Copy)]
pub(super) enum Asked {
    /// One.
    One(Uuid),
    /// All of a sterilizer, in the order they were run.
    OfSterilizer(Uuid),
    /// Those after one, at most so many, in the order they were put on record.
    After(Uuid, i64),
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = loads)]
struct Row {
    id: Uuid,
    sterilizer_id: Uuid,
    cycle: String,
    kind: String,
    case_id: Option<Uuid>,
    reason: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    started_at: Timestamp,
    exposure_minutes: Decimal,
    exposure_celsius: Decimal,
    operator: String,
    released_by: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    released_at: jiff_diesel::NullableTimestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    held_at: jiff_diesel::NullableTimestamp,
    held_reason: Option<String>,
    version: i32,
}

pub(super) async fn of(
    connection: &mut AsyncPgConnection,
    asked: Asked,
) -> Result<Vec<Load>, StoreError> {
    let query = loads::table
        .inner_join(sterilizers::table.on(sterilizers::id.eq(loads::sterilizer_id)))
        .select((Row::as_select(), sterilizers::name))
        .into_boxed();
    let query = match asked {
        Asked::One(id) => query.filter(loads::id.eq(id)),
        Asked::OfSterilizer(id) => query
            .filter(loads::sterilizer_id.eq(id))
            .order((loads::started_at, loads::id)),
        Asked::After(id, limit) => query.filter(loads::id.gt(id)).order(loads::id).limit(limit),
    };
    let rows: Vec<(Row, String)> = query.load(connection).await?;
    let mut found: Vec<Load> = rows.into_iter().map(load).collect::<Result<_, _>>()?;
    packs_of(connection, &mut found).await?;
    indicators_of(connection, &mut found).await?;
    Ok(found)
}

/// One load; none when there is no such load.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Load>, StoreError> {
    Ok(of(connection, Asked::One(id)).await?.pop())
}

fn load((row, sterilizer): (Row, String)) -> Result<Load, StoreError> {
    Ok(Load {
        id: row.id,
        sterilizer: (row.sterilizer_id, sterilizer),
        cycle: row.cycle,
        kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
        case: row.case_id,
        reason: row.reason,
        started_at: row.started_at,
        exposure_minutes: row.exposure_minutes,
        exposure_celsius: row.exposure_celsius,
        operator: row.operator,
        released: row.released_by.zip(row.released_at.to_jiff()),
        held: row.held_at.to_jiff().zip(row.held_reason),
        packs: Vec::new(),
        indicators: Vec::new(),
        version: row.version,
    })
}

async fn packs_of(
    connection: &mut AsyncPgConnection,
    found: &mut [Load],
) -> Result<(), StoreError> {
    type Row = (Uuid, Uuid, String, String, bool);
    let ids: Vec<Uuid> = found.iter().map(|load| load.id).collect();
    let rows: Vec<Row> = packs::table
        .filter(packs::load_id.eq_any(ids))
        .order(packs::label)
        .select((
            packs::load_id,
            packs::id,
            packs::label,
            packs::name,
            packs::implant,
        ))
        .load(connection)
        .await?;
    type Piece = (Uuid, Uuid, String, String, i32);
    let ids: Vec<Uuid> = rows.iter().map(|row| row.1).collect();
    let pieces: Vec<Piece> = pack_units::table
        .inner_join(units::table.on(units::id.eq(pack_units::unit_id)))
        .inner_join(products::table.on(products::id.eq(units::product_id)))
        .filter(pack_units::pack_id.eq_any(ids))
        .order(units::serial)
        .select((
            pack_units::pack_id,
            units::id,
            units::serial,
            products::name,
            pack_units::cycle,
        ))
        .load(connection)
        .await?;
    for (load, id, label, name, implant) in rows {
        let own = pieces.iter().filter(|piece| piece.0 == id);
        let pack = Pack {
            id,
            label,
            name,
            implant,
            units: own
                .map(|piece| PackUnit {
                    unit: piece.1,
                    serial: piece.2.clone(),
                    product_name: piece.3.clone(),
                    cycle: piece.4,
                })
                .collect(),
        };
        if let Some(load) = found.iter_mut().find(|each| each.id == load) {
            load.packs.push(pack);
        }
    }
    Ok(())
}

async fn indicators_of(
    connection: &mut AsyncPgConnection,
    found: &mut [Load],
) -> Result<(), StoreError> {
    type Row = (Uuid, String, String, bool, String, jiff_diesel::Timestamp);
    let ids: Vec<Uuid> = found.iter().map(|load| load.id).collect();
    let rows: Vec<Row> = indicators::table
        .filter(indicators::load_id.eq_any(ids))
        .order((indicators::at, indicators::id))
        .select((
            indicators::load_id,
            indicators::kind,
            indicators::result,
            indicators::is_repeat,
            indicators::actor,
            indicators::at,
        ))
        .load(connection)
        .await?;
    for (load, kind, result, repeat, by, at) in rows {
        let indicator = Indicator {
            kind: kind.parse().map_err(|_| StoreError::Unfit)?,
            result: result.parse().map_err(|_| StoreError::Unfit)?,
            repeat,
            by,
            at: at.to_jiff(),
        };
        if let Some(load) = found.iter_mut().find(|each| each.id == load) {
            load.indicators.push(indicator);
        }
    }
    Ok(())
}
