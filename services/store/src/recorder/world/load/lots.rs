//! The lots that labels and pieces name, with their stock.

use super::super::{LotRow, World};
use crate::recorder::job::Failure;
use crate::recorder::statement::statement;
use crate::stock::level;
use diesel::sql_types::{Array, Date, Integer, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::label::Label;
use std::collections::{BTreeSet, HashSet};
use uuid::Uuid;

statement! {
    /// Lots by number; an empty text stands for the row without one.
    LotNumbers(product: Vec<Uuid> => Array<SqlUuid>, number: Vec<String> => Array<Text>) -> (SqlUuid, Text, SqlUuid),
    "SELECT q.product, q.number, l.id FROM unnest($1, $2) AS q (product, number),
     LATERAL (SELECT id FROM lots WHERE product_id = q.product AND number = q.number OFFSET 0) l
     UNION ALL
     SELECT q.product, q.number, l.id FROM unnest($1, $2) AS q (product, number),
     LATERAL (SELECT id FROM lots WHERE product_id = q.product AND number IS NULL OFFSET 0) l
     WHERE q.number = ''"
}
statement! {
    /// Lots with their stock by place, a row a place.
    Lots(ids: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, Nullable<Text>, Nullable<Date>, Nullable<SqlUuid>, Nullable<Integer>),
    "SELECT l.id, l.number, l.expires_on, s.location_id, s.quantity
     FROM unnest($1) AS q (id), LATERAL (SELECT * FROM lots WHERE id = q.id OFFSET 0) l
     LEFT JOIN LATERAL (SELECT * FROM stock_levels WHERE lot_id = l.id AND quantity > 0 OFFSET 0) s ON true"
}

/// Reads the lots that the world lacks; their pieces are known.
pub(super) async fn load(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    labels: &[&Label],
) -> Result<(), Failure> {
    let mut missing = BTreeSet::new();
    let mut ids = BTreeSet::new();
    for label in labels {
        let Some(product) = world.product_of(label) else {
            continue;
        };
        let serial = world.serial(label);
        let unit = serial.and_then(|serial| world.units.get(&(product, serial.clone()))?.as_ref());
        ids.extend(unit.map(|unit| unit.lot));
        if label.lot.is_some() || unit.is_none() {
            let key = (product, label.lot.clone());
            if !world.lot_numbers.contains_key(&key) {
                missing.insert(key);
            }
        }
    }
    if !missing.is_empty() {
        let product = missing.iter().map(|(product, _)| *product).collect();
        let number = missing
            .iter()
            .map(|(_, number)| number.clone().unwrap_or_default())
            .collect();
        let rows: Vec<(Uuid, String, Uuid)> =
            LotNumbers { product, number }.load(connection).await?;
        world
            .lot_numbers
            .extend(missing.into_iter().map(|key| (key, None)));
        for (product, number, id) in rows {
            let number = (!number.is_empty()).then_some(number);
            world.lot_numbers.insert((product, number), Some(id));
            ids.insert(id);
        }
    }
    let ids: Vec<Uuid> = ids
        .into_iter()
        .filter(|id| !world.lots.contains_key(id))
        .collect();
    levels(connection, world, ids).await?;
    loose(connection, world, labels).await
}

/// Reads lots with their stock.
async fn levels(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    ids: Vec<Uuid>,
) -> Result<(), Failure> {
    if ids.is_empty() {
        return Ok(());
    }
    type Row = (
        Uuid,
        Option<String>,
        Option<jiff_diesel::Date>,
        Option<Uuid>,
        Option<i32>,
    );
    let rows: Vec<Row> = Lots { ids }.load(connection).await?;
    for (id, number, expires_on, place, quantity) in rows {
        let lot = world.lots.entry(id).or_insert_with(|| LotRow {
            number,
            expires_on: expires_on.map(|date| date.to_jiff()),
            levels: Vec::new(),
            loose: None,
        });
        lot.levels.extend(place.zip(quantity));
    }
    Ok(())
}

/// Reads, of the lots of pieces that were never received by their serials, the stock that no piece
/// stands for.
async fn loose(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    labels: &[&Label],
) -> Result<(), Failure> {
    let lot_of = |label: &&Label| {
        let (product, serial) = world.product_of(label).zip(world.serial(label))?;
        let unit = world.units.get(&(product, serial.clone()))?.as_ref();
        if unit.is_some_and(|unit| unit.location.is_some() || unit.claim.is_some()) {
            return None;
        }
        let id = match unit.filter(|_| label.lot.is_none()) {
            Some(unit) => unit.lot,
            None => (*world.lot_numbers.get(&(product, label.lot.clone()))?)?,
        };
        let lot = world.lots.get(&id)?;
        lot.loose.is_none().then_some(id)
    };
    let ids: BTreeSet<Uuid> = labels.iter().filter_map(lot_of).collect();
    if ids.is_empty() {
        return Ok(());
    }
    let ids: Vec<Uuid> = ids.into_iter().collect();
    let standing = level::standing(connection, None, Some(&ids)).await?;
    // A batch that is still under way is in the world alone.
    let units = world.units.values().flatten();
    let drawn: HashSet<Uuid> = units
        .filter(|unit| unit.claim.is_some())
        .map(|unit| unit.id)
        .collect();
    let pieces: Vec<_> = standing
        .iter()
        .filter(|row| row.unit.is_some_and(|unit| !drawn.contains(&unit)))
        .collect();
    for id in ids {
        let Some(lot) = world.lots.get_mut(&id) else {
            continue;
        };
        let mut rest = lot.levels.clone();
        for (place, quantity) in &mut rest {
            let here = pieces
                .iter()
                .filter(|row| (row.lot, row.place) == (id, *place));
            *quantity -= here.map(|row| row.quantity).sum::<i32>();
        }
        lot.loose = Some(rest);
    }
    Ok(())
}
