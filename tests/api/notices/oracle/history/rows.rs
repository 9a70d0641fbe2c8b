//! The rows of random histories, in bulk.

use super::{History, Site};
use crate::harness::Suite;
use std::collections::BTreeSet;

fn quoted(text: Option<&str>) -> String {
    text.map_or("NULL".to_owned(), |text| format!("'{text}'"))
}

/// Writes the rows of all histories in bulk.
pub async fn write(suite: &Suite, site: &Site, histories: &[History]) {
    let facility = site.facility;
    let (room, practitioner) = (&site.room, site.practitioner);
    let sterilizer = uuid::Uuid::from_u128(1);
    let client = suite.service.site.database.superuser().await;
    let mut tables: Vec<(&str, Vec<String>)> = [
        "products (facility_id, id, name, maker, model, kind, use_class, carries_lot, carries_serial, carries_expiry, catalogued, created_at)",
        "product_identifiers (facility_id, agency, code, product_id, level, quantity, check_digit_right)",
        "lots (facility_id, id, product_id, number, expires_on, created_at)",
        "stock_levels (facility_id, lot_id, location_id, quantity)",
        "units (facility_id, id, product_id, lot_id, serial, location_id)",
        "cases (facility_id, id, patient_id, procedure_name, location_id, practitioner_id, scheduled_for, status, started_at, ended_at, created_at)",
        "uses (facility_id, scan_id, case_id, product_id, lot_id, unit_id, disposition, taken_at, struck_at, version, other_lot_id)",
        "mixes (facility_id, id, case_id, name, written_order, order_hash, sealed_weight, use_within_minutes, use_by_source, ordered_by, ordered_at, made_by, started_at, made_at, use_by)",
        "mix_ingredients (facility_id, mix_id, line, scan_id, product_id, lot_id, unit_id, volume_ml, strengths)",
        "cylinders (facility_id, id, product_id, lot_id, unit_id, gas, filled_on, water_volume_litre, service_psi, plus_mark, retest_month, star_mark, gauge_accuracy_percent, gauge_full_scale_psi, reserve_psi, created_at)",
        "gas_uses (facility_id, id, cylinder_id, case_id, zone, litre_per_minute, minutes, actor, at)",
        "loads (facility_id, id, sterilizer_id, cycle, kind, case_id, reason, started_at, exposure_minutes, exposure_celsius, operator, created_at)",
        "packs (facility_id, id, load_id, label, name, implant)",
        "pack_units (facility_id, pack_id, unit_id, cycle)",
    ]
    .map(|table| (table, Vec::new()))
    .into();
    for history in histories {
        let product = history.product;
        let mut row = |table: usize, values: String| {
            tables[table].1.push(format!("('{facility}', {values})"));
        };
        row(
            0,
            format!(
                "'{product}', 'Item', '', '{}', 'other', 'reusable', true, false, true, true, now()",
                history.model
            ),
        );
        let [unit, package] = &history.gtins;
        row(1, format!("'gs1', '{unit}', '{product}', 'unit', 1, true"));
        row(
            1,
            format!("'gs1', '{package}', '{product}', 'package', 10, true"),
        );
        for lot in &history.lots {
            let number = quoted(lot.number.as_deref());
            let expires_on = quoted(lot.expires_on.map(|day| day.to_string()).as_deref());
            row(
                2,
                format!("'{}', '{product}', {number}, {expires_on}, now()", lot.id),
            );
            row(3, format!("'{}', '{room}', {}", lot.id, lot.on_shelf));
        }
        for unit in &history.units {
            let lot = history.lots[unit.lot].id;
            let place = quoted(unit.on_shelf.then_some(room));
            row(
                4,
                format!(
                    "'{}', '{product}', '{lot}', '{}', {place}",
                    unit.id, unit.serial
                ),
            );
        }
        let at =
            |minute: u64| format!("timestamptz '2027-01-01 00:00Z' + interval '{minute} minutes'");
        let mut cases = BTreeSet::new();
        for one in &history.uses {
            let (case, lot) = (one.case, history.lots[one.lot].id);
            let on_record = one.unit.map(|unit| history.units[unit].lot);
            let other = on_record.filter(|on_record| *on_record != one.lot);
            let other = other.map(|other| history.lots[other].id.to_string());
            let other = quoted(other.as_deref());
            let unit = one.unit.map(|unit| history.units[unit].id.to_string());
            let unit = quoted(unit.as_deref());
            let struck = if one.struck { "now()" } else { "NULL" };
            if cases.insert(case) {
                row(
                    5,
                    format!(
                        "'{case}', '{}', 'Procedure', '{room}', '{practitioner}', now(), 'completed', now(), now(), now()",
                        one.patient
                    ),
                );
            }
            row(
                6,
                format!(
                    "'{}', '{case}', '{product}', '{lot}', {unit}, 'used', {}, {struck}, 1, {other}",
                    one.scan,
                    at(one.minute)
                ),
            );
        }
        for mix in &history.mixtures {
            row(
                7,
                format!(
                    "'{}', '{}', 'Bag', 'Order', decode(repeat('00', 32), 'hex'), '', 60, 'Policy', '{practitioner}', now(), '{practitioner}', now(), now(), now()",
                    mix.id, mix.case
                ),
            );
            for (line, one) in (1..).zip(&mix.uses) {
                let one = &history.uses[*one];
                let lot = history.lots[one.lot].id;
                let unit = one.unit.map(|unit| history.units[unit].id.to_string());
                let unit = quoted(unit.as_deref());
                let scan = one.scan;
                row(
                    8,
                    format!(
                        "'{}', {line}, '{scan}', '{product}', '{lot}', {unit}, 1, '[]'",
                        mix.id
                    ),
                );
            }
        }
        for fill in &history.fills {
            let lot = history.lots[fill.lot].id;
            let unit = fill.unit.map(|unit| history.units[unit].id.to_string());
            let unit = quoted(unit.as_deref());
            row(
                9,
                format!(
                    "'{}', '{product}', '{lot}', {unit}, 'helium', '2026-01-05', 4.7, 2015, true, '2024-05-01', false, 2, 3000, 0, now()",
                    fill.id
                ),
            );
            for (id, case) in &fill.flowed {
                row(
                    10,
                    format!(
                        "'{id}', '{}', '{case}', 'Thigh', 1, 1, 'operator:test', now()",
                        fill.id
                    ),
                );
            }
        }
        for cycle in &history.cycles {
            let (kind, case, reason) = match cycle.case {
                Some((case, patient)) => {
                    if cases.insert(case) {
                        row(
                            5,
                            format!(
                                "'{case}', '{patient}', 'Procedure', '{room}', '{practitioner}', now(), 'completed', now(), now(), now()"
                            ),
                        );
                    }
                    ("immediate_use", format!("'{case}'"), "'Dropped'")
                }
                None => ("terminal", "NULL".to_owned(), "NULL"),
            };
            let id = cycle.id;
            row(
                11,
                format!(
                    "'{id}', '{sterilizer}', '{id}', '{kind}', {case}, {reason}, {}, 4, 132, 'operator:test', now()",
                    at(cycle.minute)
                ),
            );
            row(12, format!("'{}', '{id}', 'P', 'Set', false", cycle.pack));
            for (unit, number) in &cycle.units {
                let unit = history.units[*unit].id;
                row(13, format!("'{}', '{unit}', {number}", cycle.pack));
            }
        }
    }
    client
        .batch_execute(&format!(
            "INSERT INTO sterilizers (facility_id, id, name, positive_policy, created_at) VALUES ('{facility}', '{sterilizer}', 'Oracle', 'recall_suspect', now())"
        ))
        .await
        .expect("a sterilizer");
    for (table, rows) in tables {
        for rows in rows.chunks(2_000) {
            let insert = format!("INSERT INTO {table} VALUES {}", rows.join(", "));
            client.batch_execute(&insert).await.expect(table);
        }
    }
    client.batch_execute("ANALYZE").await.expect("statistics");
}
