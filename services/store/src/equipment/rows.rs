//! Equipment as its rows say, with its services and the filter that is in it.

use super::{Equipment, Filter, NewEquipment, NewFilter, NewService};
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::schema::{
    equipment, equipment_filters, equipment_runs, equipment_services, equipment_uses, locations,
};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::cases::Verdict;
use rust_decimal::Decimal;
use std::collections::BTreeSet;
use uuid::Uuid;

/// Which equipment is read.
pub(crate) enum Asked {
    /// One piece.
    One(Uuid),
    /// The whole register.
    All,
    /// The pieces after one, at most so many.
    After(Uuid, i64),
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = equipment)]
struct Row {
    id: Uuid,
    asset_number: String,
    kind: String,
    thermometer_type: Option<String>,
    name: String,
    serial: Option<String>,
    label: Option<String>,
    location_id: Option<Uuid>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    out_of_service_since: jiff_diesel::NullableTimestamp,
    out_of_service_reason: Option<String>,
    version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = equipment_services)]
struct ServiceRow {
    equipment_id: Uuid,
    kind: String,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    done_on: Date,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    due_on: Date,
    done_by: String,
    certificate: Option<String>,
    as_found: Option<String>,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = equipment_filters)]
struct FilterRow {
    equipment_id: Uuid,
    filter: String,
    life_hours: Option<Decimal>,
    life_cases: Option<i32>,
    case_hours: Option<Decimal>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    at: Timestamp,
}

/// Reads equipment in the order it was put on record.
pub(crate) async fn of(
    connection: &mut AsyncPgConnection,
    asked: Asked,
) -> Result<Vec<Equipment>, StoreError> {
    let query = equipment::table
        .left_join(locations::table.on(locations::id.nullable().eq(equipment::location_id)))
        .order(equipment::id)
        .select((Row::as_select(), locations::name.nullable()))
        .into_boxed();
    let query = match asked {
        Asked::One(id) => query.filter(equipment::id.eq(id)),
        Asked::All => query,
        Asked::After(id, limit) => query.filter(equipment::id.gt(id)).limit(limit),
    };
    let rows: Vec<(Row, Option<String>)> = query.load(connection).await?;
    let mut found: Vec<Equipment> = rows.into_iter().map(piece).collect::<Result<_, _>>()?;
    let ids: Vec<Uuid> = found.iter().map(|each| each.id).collect();
    services(connection, &ids, &mut found).await?;
    filters(connection, &ids, &mut found).await?;
    Ok(found)
}

fn piece((row, location_name): (Row, Option<String>)) -> Result<Equipment, StoreError> {
    let thermometer_type = row.thermometer_type.map(|word| word.parse()).transpose();
    let since = row.out_of_service_since.to_jiff();
    Ok(Equipment {
        id: row.id,
        new: NewEquipment {
            asset_number: row.asset_number,
            kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
            label: row.label,
            location: row.location_id,
            name: row.name,
            serial: row.serial,
            thermometer_type: thermometer_type.map_err(|_| StoreError::Unfit)?,
        },
        location_name,
        out_of_service: since.zip(row.out_of_service_reason),
        services: Vec::new(),
        filter: None,
        version: row.version,
    })
}

async fn services(
    connection: &mut AsyncPgConnection,
    ids: &[Uuid],
    found: &mut [Equipment],
) -> Result<(), StoreError> {
    let rows: Vec<ServiceRow> = equipment_services::table
        .filter(equipment_services::equipment_id.eq_any(ids))
        .order(equipment_services::id.desc())
        .select(ServiceRow::as_select())
        .load(connection)
        .await?;
    for row in rows {
        let as_found = row.as_found.map(|word| word.parse()).transpose();
        let service = NewService {
            as_found: as_found.map_err(|_| StoreError::Unfit)?,
            certificate: row.certificate,
            done_by: row.done_by,
            done_on: row.done_on,
            due_on: row.due_on,
            kind: row.kind.parse().map_err(|_| StoreError::Unfit)?,
        };
        let owner = found.iter_mut().find(|each| each.id == row.equipment_id);
        owner.ok_or(StoreError::Unfit)?.services.push(service);
    }
    Ok(())
}

async fn filters(
    connection: &mut AsyncPgConnection,
    ids: &[Uuid],
    found: &mut [Equipment],
) -> Result<(), StoreError> {
    let rows: Vec<FilterRow> = equipment_filters::table
        .filter(equipment_filters::equipment_id.eq_any(ids))
        .distinct_on(equipment_filters::equipment_id)
        .order((
            equipment_filters::equipment_id,
            equipment_filters::id.desc(),
        ))
        .select(FilterRow::as_select())
        .load(connection)
        .await?;
    if rows.is_empty() {
        return Ok(());
    }
    type RunRow = (Uuid, Decimal, jiff_diesel::Timestamp);
    let runs: Vec<RunRow> = equipment_runs::table
        .filter(equipment_runs::equipment_id.eq_any(ids))
        .select((
            equipment_runs::equipment_id,
            equipment_runs::minutes,
            equipment_runs::at,
        ))
        .load(connection)
        .await?;
    type UseRow = (Uuid, Uuid, jiff_diesel::Timestamp);
    let uses: Vec<UseRow> = equipment_uses::table
        .filter(equipment_uses::equipment_id.eq_any(ids))
        .filter(equipment_uses::verdict.ne(Verdict::Stop.as_str()))
        .filter(equipment_uses::struck_at.is_null())
        .select((
            equipment_uses::equipment_id,
            equipment_uses::case_id,
            equipment_uses::at,
        ))
        .load(connection)
        .await?;
    for row in rows {
        let since =
            |id: Uuid, at: &jiff_diesel::Timestamp| id == row.equipment_id && at.to_jiff() > row.at;
        let minutes: Decimal = runs
            .iter()
            .filter(|run| since(run.0, &run.2))
            .map(|run| run.1)
            .sum();
        let cases: BTreeSet<Uuid> = uses
            .iter()
            .filter(|row| since(row.0, &row.2))
            .map(|row| row.1)
            .collect();
        let count = |number: i32| u32::try_from(number).map_err(|_| StoreError::Unfit);
        let filter = Filter {
            new: NewFilter {
                case_hours: row.case_hours,
                filter: row.filter,
                life_cases: row.life_cases.map(count).transpose()?,
                life_hours: row.life_hours,
            },
            since: row.at,
            hours: (minutes / Decimal::from(60)).round_dp(2),
            cases: u32::try_from(cases.len()).map_err(|_| StoreError::Unfit)?,
        };
        let owner = found.iter_mut().find(|each| each.id == row.equipment_id);
        owner.ok_or(StoreError::Unfit)?.filter = Some(filter);
    }
    Ok(())
}

/// Lists equipment in the order it was put on record.
///
/// # Errors
/// [`StoreError`].
pub async fn list(reading: &mut Reading, after: After) -> Result<Page<Equipment>, StoreError> {
    let asked = Asked::After(after.start(), after.fetch());
    let items = of(reading.connection(), asked).await?;
    Ok(Page::of(items, after, |each| each.id))
}

/// Shows one piece; none when there is no such equipment.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, id: Uuid) -> Result<Option<Equipment>, StoreError> {
    Ok(of(reading.connection(), Asked::One(id)).await?.pop())
}
