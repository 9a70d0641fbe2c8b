//! The pieces that serials name, with the use that claims each and how it was processed.

use super::super::{ClaimRow, UnitRow, World};
use crate::loads::{self, Processed};
use crate::recorder::job::Failure;
use crate::recorder::statement::statement;
use diesel::sql_types::{Array, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::label::Label;
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

type Instant = jiff_diesel::Timestamp;

statement! {
    /// Pieces by serial, with the use that claims each.
    Units(product: Vec<Uuid> => Array<SqlUuid>, serial: Vec<String> => Array<Text>)
        -> (SqlUuid, Text, SqlUuid, SqlUuid, Nullable<SqlUuid>, Nullable<SqlUuid>, Nullable<SqlUuid>, Nullable<Timestamptz>),
    "SELECT u.product_id, u.serial, u.id, u.lot_id, u.location_id, c.case_id, c.scan_id, c.taken_at
     FROM unnest($1, $2) AS q (product, serial),
     LATERAL (SELECT * FROM units WHERE product_id = q.product AND serial = q.serial OFFSET 0) u
     LEFT JOIN LATERAL (SELECT * FROM uses WHERE unit_id = u.id AND claims_unit OFFSET 0) c ON true"
}

/// Reads the pieces that the world lacks; their products are known.
pub(super) async fn load(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    labels: &[&Label],
) -> Result<(), Failure> {
    let mut missing = BTreeSet::new();
    for label in labels {
        if let (Some(product), Some(serial)) = (world.product_of(label), world.serial(label)) {
            let key = (product, serial.clone());
            if !world.units.contains_key(&key) {
                missing.insert(key);
            }
        }
    }
    if missing.is_empty() {
        return Ok(());
    }
    type Row = (
        Uuid,
        String,
        Uuid,
        Uuid,
        Option<Uuid>,
        Option<Uuid>,
        Option<Uuid>,
        Option<Instant>,
    );
    let (product, serial) = missing.iter().cloned().unzip();
    let rows: Vec<Row> = Units { product, serial }.load(connection).await?;
    world
        .units
        .extend(missing.into_iter().map(|key| (key, None)));
    let mut fresh = Vec::new();
    for (product, serial, id, lot, location, case, scan, at) in rows {
        fresh.push((id, product, serial.clone()));
        let claim = case.zip(scan).zip(at);
        let claim = claim.map(|((case, scan), at)| ClaimRow {
            case,
            scan,
            at: at.to_jiff(),
        });
        world.units.insert(
            (product, serial),
            Some(UnitRow {
                id,
                lot,
                location,
                processed: Processed::default(),
                claim,
            }),
        );
    }
    processed(connection, world, &fresh).await
}

/// The processing of the pieces just read whose products the site sterilizes.
async fn processed(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    fresh: &[(Uuid, Uuid, String)],
) -> Result<(), Failure> {
    let sterilized = |product: &Uuid| {
        let product = world.products.get(product);
        product.is_some_and(|product| product.sterilized.is_some())
    };
    let asked = fresh.iter().filter(|(_, product, _)| sterilized(product));
    let ids: Vec<Uuid> = asked.map(|(unit, ..)| *unit).collect();
    if ids.is_empty() {
        return Ok(());
    }
    let mut found: HashMap<Uuid, Processed> = loads::processed(connection, ids)
        .await?
        .into_iter()
        .collect();
    for (unit, product, serial) in fresh {
        let row = world.units.get_mut(&(*product, serial.clone()));
        if let (Some(Some(row)), Some(processed)) = (row, found.remove(unit)) {
            row.processed = processed;
        }
    }
    Ok(())
}
