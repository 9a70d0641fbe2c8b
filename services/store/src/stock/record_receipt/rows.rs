//! Writing a receipt's rows, a few statements for all its lines.

use super::judged::Judged;
use super::{ReceiptLine, RecordReceiptRefusal};
use crate::moment::{date, new_id};
use crate::recorder::{Failure, Refused, Writing};
use crate::schema::{
    lots, product_identifiers, products, receipt_lines, receipts, shelf_movements, stock_levels,
    units,
};
use crate::stock::level::MOST_AT_PLACE;
use diesel::dsl::sql;
use diesel::prelude::*;
use diesel::query_dsl::methods::FilterDsl;
use diesel::sql_types::{Array, Bool, Date, Nullable, Uuid as SqlUuid};
use diesel::upsert::excluded;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Writes everything that the lines of a receipt came to, except the entries.
pub(super) async fn write(
    writing: &mut Writing<'_>,
    id: Uuid,
    lines: &[ReceiptLine],
    judged: &Judged<'_>,
) -> Result<(), Refused<RecordReceiptRefusal>> {
    insert_products(writing, judged).await?;
    insert_lots(writing, judged).await?;
    update_lots(writing, judged).await?;
    insert_units(writing, judged).await?;
    update_units(writing, judged).await?;
    insert_receipt(writing, id, lines, judged).await?;
    move_stock(writing, id, lines, judged).await
}

async fn insert_products(writing: &mut Writing<'_>, judged: &Judged<'_>) -> Result<(), Failure> {
    let facility = writing.facility.id;
    let rows: Vec<_> = judged
        .products
        .iter()
        .map(|product| {
            let known = judged
                .known
                .products
                .get(&product.id)
                .ok_or(Failure::Unfit)?;
            Ok((
                products::facility_id.eq(facility),
                products::id.eq(product.id),
                products::name.eq(&product.name),
                products::maker.eq(""),
                products::model.eq(""),
                products::kind.eq("other"),
                products::use_class.eq(known.use_class.as_str()),
                products::carries_lot.eq(known.carries.lot),
                products::carries_serial.eq(known.carries.serial),
                products::carries_expiry.eq(known.carries.expiry),
                products::catalogued.eq(known.catalogued),
                products::created_at.eq(writing.at.to_diesel()),
            ))
        })
        .collect::<Result<_, Failure>>()?;
    if rows.is_empty() {
        return Ok(());
    }
    diesel::insert_into(products::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    let rows: Vec<_> = judged
        .products
        .iter()
        .map(|product| {
            (
                product_identifiers::facility_id.eq(facility),
                product_identifiers::agency.eq(product.code.agency),
                product_identifiers::code.eq(&product.code.code),
                product_identifiers::product_id.eq(product.id),
                product_identifiers::level.eq("unit"),
                product_identifiers::quantity.eq(1),
                product_identifiers::check_digit_right.eq(true),
            )
        })
        .collect();
    diesel::insert_into(product_identifiers::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    Ok(())
}

async fn insert_lots(writing: &mut Writing<'_>, judged: &Judged<'_>) -> Result<(), Failure> {
    let rows: Vec<_> = judged
        .new_lots
        .iter()
        .map(|(id, product)| {
            let lot = judged.known.lots.get(id).ok_or(Failure::Unfit)?;
            Ok((
                lots::facility_id.eq(writing.facility.id),
                lots::id.eq(*id),
                lots::product_id.eq(*product),
                lots::number.eq(&lot.number),
                lots::expires_on.eq(date(lot.expires_on)),
                lots::manufactured_on.eq(date(lot.manufactured_on)),
                lots::created_at.eq(writing.at.to_diesel()),
            ))
        })
        .collect::<Result<_, Failure>>()?;
    if !rows.is_empty() {
        diesel::insert_into(lots::table)
            .values(&rows)
            .execute(writing.connection)
            .await?;
    }
    Ok(())
}

async fn update_lots(writing: &mut Writing<'_>, judged: &Judged<'_>) -> Result<(), Failure> {
    let changed = judged.changed_lots.iter();
    let changed: Vec<_> = changed
        .filter_map(|id| Some((*id, judged.known.lots.get(id)?)))
        .collect();
    if changed.is_empty() {
        return Ok(());
    }
    let ids: Vec<Uuid> = changed.iter().map(|(id, _)| *id).collect();
    let expiry: Vec<_> = changed
        .iter()
        .map(|(_, lot)| date(lot.expires_on))
        .collect();
    let made: Vec<_> = changed
        .iter()
        .map(|(_, lot)| date(lot.manufactured_on))
        .collect();
    diesel::sql_query(
        "UPDATE lots l SET expires_on = r.expires_on, manufactured_on = r.manufactured_on
         FROM unnest($1, $2, $3) AS r (id, expires_on, manufactured_on) WHERE l.id = r.id",
    )
    .bind::<Array<SqlUuid>, _>(ids)
    .bind::<Array<Nullable<Date>>, _>(expiry)
    .bind::<Array<Nullable<Date>>, _>(made)
    .execute(writing.connection)
    .await?;
    Ok(())
}

async fn insert_units(writing: &mut Writing<'_>, judged: &Judged<'_>) -> Result<(), Failure> {
    let all = judged.known.units.iter();
    let rows: Vec<_> = all
        .filter(|(_, unit)| judged.new_units.contains(&unit.id))
        .map(|((product, serial), unit)| {
            (
                units::facility_id.eq(writing.facility.id),
                units::id.eq(unit.id),
                units::product_id.eq(product),
                units::lot_id.eq(unit.lot),
                units::serial.eq(serial),
                units::location_id.eq(unit.location),
            )
        })
        .collect();
    if !rows.is_empty() {
        diesel::insert_into(units::table)
            .values(&rows)
            .execute(writing.connection)
            .await?;
    }
    Ok(())
}

async fn update_units(writing: &mut Writing<'_>, judged: &Judged<'_>) -> Result<(), Failure> {
    let all = judged.known.units.values();
    let changed: Vec<_> = all
        .filter(|unit| judged.changed_units.contains(&unit.id))
        .collect();
    if changed.is_empty() {
        return Ok(());
    }
    let ids: Vec<Uuid> = changed.iter().map(|unit| unit.id).collect();
    let lots: Vec<Uuid> = changed.iter().map(|unit| unit.lot).collect();
    let places: Vec<Option<Uuid>> = changed.iter().map(|unit| unit.location).collect();
    diesel::sql_query(
        "UPDATE units u SET lot_id = r.lot, location_id = r.place
         FROM unnest($1, $2, $3) AS r (id, lot, place) WHERE u.id = r.id",
    )
    .bind::<Array<SqlUuid>, _>(&ids)
    .bind::<Array<SqlUuid>, _>(&lots)
    .bind::<Array<Nullable<SqlUuid>>, _>(places)
    .execute(writing.connection)
    .await?;
    // Uses say where the piece's record names another lot.
    diesel::sql_query(
        "UPDATE uses s SET other_lot_id = NULLIF(r.lot, s.lot_id)
         FROM unnest($1, $2) AS r (id, lot)
         WHERE s.unit_id = r.id AND s.other_lot_id IS DISTINCT FROM NULLIF(r.lot, s.lot_id)",
    )
    .bind::<Array<SqlUuid>, _>(ids)
    .bind::<Array<SqlUuid>, _>(lots)
    .execute(writing.connection)
    .await?;
    Ok(())
}

async fn insert_receipt(
    writing: &mut Writing<'_>,
    id: Uuid,
    lines: &[ReceiptLine],
    judged: &Judged<'_>,
) -> Result<(), Failure> {
    diesel::insert_into(receipts::table)
        .values((
            receipts::facility_id.eq(writing.facility.id),
            receipts::id.eq(id),
            receipts::actor.eq(writing.actor.to_string()),
            receipts::received_at.eq(writing.at.to_diesel()),
        ))
        .execute(writing.connection)
        .await?;
    let numbered = (1_i32..).zip(lines.iter().zip(&judged.lines));
    let rows: Vec<_> = numbered
        .map(|(number, (line, judged))| {
            let findings = serde_json::to_value(&judged.findings).map_err(|_| Failure::Unfit)?;
            Ok((
                receipt_lines::facility_id.eq(writing.facility.id),
                receipt_lines::receipt_id.eq(id),
                receipt_lines::line.eq(number),
                receipt_lines::text.eq(&line.text),
                receipt_lines::product_id.eq(judged.product),
                receipt_lines::lot_id.eq(judged.lot),
                receipt_lines::unit_id.eq(judged.unit),
                receipt_lines::location_id.eq(line.location),
                receipt_lines::packages.eq(line.packages.cast_signed()),
                receipt_lines::quantity.eq(judged.quantity.cast_signed()),
                receipt_lines::findings.eq(findings),
            ))
        })
        .collect::<Result<_, Failure>>()?;
    diesel::insert_into(receipt_lines::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    Ok(())
}

async fn move_stock(
    writing: &mut Writing<'_>,
    id: Uuid,
    lines: &[ReceiptLine],
    judged: &Judged<'_>,
) -> Result<(), Refused<RecordReceiptRefusal>> {
    let counted = lines.iter().zip(&judged.lines);
    let counted: Vec<_> = counted.filter(|(_, judged)| judged.quantity > 0).collect();
    if counted.is_empty() {
        return Ok(());
    }
    let facility = writing.facility.id;
    let rows: Vec<_> = counted
        .iter()
        .map(|(line, judged)| {
            (
                shelf_movements::facility_id.eq(facility),
                shelf_movements::lot_id.eq(judged.lot),
                shelf_movements::id.eq(new_id(writing.at)),
                shelf_movements::unit_id.eq(judged.unit),
                shelf_movements::location_id.eq(line.location),
                shelf_movements::kind.eq("received"),
                shelf_movements::quantity.eq(judged.quantity.cast_signed()),
                shelf_movements::cause_id.eq(id),
                shelf_movements::at.eq(writing.at.to_diesel()),
            )
        })
        .collect();
    diesel::insert_into(shelf_movements::table)
        .values(&rows)
        .execute(writing.connection)
        .await?;
    // One row a lot and place: an upsert cannot touch a row twice.
    let mut sums: BTreeMap<(Uuid, Uuid), i32> = BTreeMap::new();
    for (line, judged) in &counted {
        *sums.entry((judged.lot, line.location)).or_default() += judged.quantity.cast_signed();
    }
    let rows: Vec<_> = sums
        .into_iter()
        .map(|((lot, place), quantity)| {
            (
                stock_levels::facility_id.eq(facility),
                stock_levels::lot_id.eq(lot),
                stock_levels::location_id.eq(place),
                stock_levels::quantity.eq(quantity),
            )
        })
        .collect();
    let level = stock_levels::quantity;
    let added = diesel::insert_into(stock_levels::table)
        .values(&rows)
        .on_conflict((stock_levels::lot_id, stock_levels::location_id))
        .do_update()
        .set(level.eq(level + excluded(level)));
    let room = format!("excluded.quantity <= {MOST_AT_PLACE} - stock_levels.quantity");
    let changed: Vec<(Uuid, Uuid)> = FilterDsl::filter(added, sql::<Bool>(&room))
        .returning((stock_levels::lot_id, stock_levels::location_id))
        .get_results(writing.connection)
        .await?;
    let changed: BTreeSet<_> = changed.into_iter().collect();
    let refused = lines.iter().zip(&judged.lines).position(|(line, judged)| {
        judged.quantity > 0 && !changed.contains(&(judged.lot, line.location))
    });
    match refused {
        Some(at) => Err(Refused::Because(RecordReceiptRefusal::TooMany {
            line: at + 1,
        })),
        None => Ok(()),
    }
}
