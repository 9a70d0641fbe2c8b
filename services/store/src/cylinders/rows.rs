//! Cylinders as their rows say, with the newest reading and the gas that flowed.

use super::{Cylinder, GaugeReading, NewCylinder};
use crate::database::StoreError;
use crate::schema::{cylinders, gas_uses, gauge_readings, lots, products, units};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use lotwarden_domain::gas::{FlowTime, litres_used};
use rust_decimal::Decimal;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Which cylinders are read.
pub(crate) enum Asked<'a> {
    /// One fill.
    One(Uuid),
    /// The fills of these products.
    OfProducts(&'a [Uuid]),
    /// Every fill.
    All,
    /// The fills after one, at most so many.
    After(Uuid, i64),
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = cylinders)]
struct Row {
    id: Uuid,
    product_id: Uuid,
    lot_id: Uuid,
    unit_id: Option<Uuid>,
    gas: String,
    name_read_back: Option<String>,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    filled_on: Date,
    water_volume_litre: Decimal,
    service_psi: Decimal,
    plus_mark: bool,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    retest_month: Date,
    star_mark: bool,
    gauge_accuracy_percent: Decimal,
    gauge_full_scale_psi: Decimal,
    reserve_psi: Decimal,
    expected_litre: Option<Decimal>,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    opened_at: jiff_diesel::NullableTimestamp,
    version: i32,
}

type Joined = (
    Row,
    String,
    Option<String>,
    jiff_diesel::NullableDate,
    Option<String>,
);

/// Reads cylinders in the order they were put on record.
pub(crate) async fn of(
    connection: &mut AsyncPgConnection,
    asked: Asked<'_>,
) -> Result<Vec<Cylinder>, StoreError> {
    let query = cylinders::table
        .inner_join(products::table.on(products::id.eq(cylinders::product_id)))
        .inner_join(lots::table.on(lots::id.eq(cylinders::lot_id)))
        .left_join(units::table.on(units::id.nullable().eq(cylinders::unit_id)))
        .order(cylinders::id)
        .select((
            Row::as_select(),
            products::name,
            lots::number,
            lots::expires_on,
            units::serial.nullable(),
        ))
        .into_boxed();
    let query = match asked {
        Asked::One(id) => query.filter(cylinders::id.eq(id)),
        Asked::OfProducts(ids) => query.filter(cylinders::product_id.eq_any(ids.to_vec())),
        Asked::All => query,
        Asked::After(id, limit) => query.filter(cylinders::id.gt(id)).limit(limit),
    };
    let rows: Vec<Joined> = query.load(connection).await?;
    let mut found: Vec<Cylinder> = rows.into_iter().map(cylinder).collect::<Result<_, _>>()?;
    if !found.is_empty() {
        readings(connection, &mut found).await?;
        uses(connection, &mut found).await?;
    }
    Ok(found)
}

fn cylinder(
    (row, product_name, number, expires_on, serial): Joined,
) -> Result<Cylinder, StoreError> {
    Ok(Cylinder {
        id: row.id,
        new: NewCylinder {
            expected_litre: row.expected_litre,
            filled_on: row.filled_on,
            gas: row.gas.parse().map_err(|_| StoreError::Unfit)?,
            gauge_accuracy_percent: row.gauge_accuracy_percent,
            gauge_full_scale_psi: row.gauge_full_scale_psi,
            lot: row.lot_id,
            name_read_back: row.name_read_back,
            plus: row.plus_mark,
            reserve_psi: row.reserve_psi,
            retest_month: row.retest_month,
            service_psi: row.service_psi,
            star: row.star_mark,
            unit: row.unit_id,
            water_volume_litre: row.water_volume_litre,
        },
        product_name,
        lot_number: number,
        expires_on: expires_on.to_jiff(),
        serial,
        product: row.product_id,
        opened_at: row.opened_at.to_jiff(),
        reading: None,
        used_litre: Decimal::ZERO,
        used_since_litre: Decimal::ZERO,
        by_case: Vec::new(),
        version: row.version,
    })
}

async fn readings(
    connection: &mut AsyncPgConnection,
    found: &mut [Cylinder],
) -> Result<(), StoreError> {
    type Row = (
        Uuid,
        Decimal,
        Decimal,
        Option<Decimal>,
        jiff_diesel::Timestamp,
    );
    let ids: Vec<Uuid> = found.iter().map(|each| each.id).collect();
    let rows: Vec<Row> = gauge_readings::table
        .filter(gauge_readings::cylinder_id.eq_any(ids))
        .distinct_on(gauge_readings::cylinder_id)
        .order((gauge_readings::cylinder_id, gauge_readings::id.desc()))
        .select((
            gauge_readings::cylinder_id,
            gauge_readings::gauge_psi,
            gauge_readings::celsius,
            gauge_readings::litre_per_minute,
            gauge_readings::at,
        ))
        .load(connection)
        .await?;
    let mut newest: BTreeMap<Uuid, GaugeReading> = rows
        .into_iter()
        .map(|(id, gauge_psi, celsius, litre_per_minute, at)| {
            let at = at.to_jiff();
            let reading = GaugeReading {
                gauge_psi,
                celsius,
                litre_per_minute,
                at,
            };
            (id, reading)
        })
        .collect();
    for each in found {
        each.reading = newest.remove(&each.id);
    }
    Ok(())
}

async fn uses(
    connection: &mut AsyncPgConnection,
    found: &mut [Cylinder],
) -> Result<(), StoreError> {
    type Row = (Uuid, Uuid, Decimal, Decimal, jiff_diesel::Timestamp);
    let ids: Vec<Uuid> = found.iter().map(|each| each.id).collect();
    let rows: Vec<Row> = gas_uses::table
        .filter(gas_uses::cylinder_id.eq_any(ids))
        .order(gas_uses::id)
        .select((
            gas_uses::cylinder_id,
            gas_uses::case_id,
            gas_uses::litre_per_minute,
            gas_uses::minutes,
            gas_uses::at,
        ))
        .load(connection)
        .await?;
    for each in found {
        let own = rows.iter().filter(|row| row.0 == each.id);
        let flow = |row: &&Row| FlowTime {
            litre_per_minute: row.2,
            minutes: row.3,
        };
        let since = each.reading.map(|reading| reading.at);
        let after = |row: &&Row| since.is_some_and(|since: Timestamp| row.4.to_jiff() > since);
        let sum = |times: Vec<FlowTime>| litres_used(&times).ok_or(StoreError::Unfit);
        each.used_litre = sum(own.clone().map(|row| flow(&row)).collect())?;
        each.used_since_litre = sum(own.clone().filter(after).map(|row| flow(&row)).collect())?;
        let mut cases: Vec<Uuid> = own.clone().map(|row| row.1).collect();
        cases.dedup();
        for case in cases {
            let times = own.clone().filter(|row| row.1 == case);
            let litres = sum(times.map(|row| flow(&row)).collect())?;
            each.by_case.push((case, litres));
        }
    }
    Ok(())
}
