//! The products that codes name, with what bars them.

use super::super::{HoldRow, ProductRow, World};
use crate::cylinders::{self, Asked};
use crate::loads;
use crate::notices::watch;
use crate::recorder::job::Failure;
use crate::recorder::statement::statement;
use crate::vials;
use diesel::sql_types::{Array, Bool, Nullable, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::catalogue::LabelCarries;
use lotwarden_domain::label::{Label, ProductCode};
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

statement! {
    /// Products by identifier.
    Codes(facility: Uuid => SqlUuid, agency: Vec<&'static str> => Array<Text>, code: Vec<String> => Array<Text>)
        -> (Text, Text, Bool, SqlUuid, Text, Bool, Text, Bool, Bool, Bool),
    "SELECT i.agency, i.code, i.quantity > 1, p.id, p.name, p.catalogued, p.use_class, p.carries_lot, p.carries_serial, p.carries_expiry
     FROM unnest($2, $3) AS q (agency, code),
     LATERAL (SELECT * FROM product_identifiers
        WHERE facility_id = $1 AND agency = q.agency AND code = q.code OFFSET 0) i,
     LATERAL (SELECT * FROM products WHERE id = i.product_id OFFSET 0) p"
}
statement! {
    /// Holds in force on products, their lots and pieces.
    Holds(products: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, Text, Nullable<SqlUuid>, Nullable<SqlUuid>, Text),
    "SELECT product_id, scope, lot_id, unit_id, reason FROM holds
     WHERE product_id = ANY ($1) AND lifted_at IS NULL ORDER BY id"
}

/// Reads the codes that the world lacks.
pub(super) async fn load(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    world: &mut World,
    labels: &[&Label],
) -> Result<(), Failure> {
    let asked: BTreeSet<&ProductCode> = labels.iter().flat_map(|label| label.codes()).collect();
    let missing: Vec<ProductCode> = asked
        .into_iter()
        .filter(|code| !world.codes.contains_key(code))
        .cloned()
        .collect();
    if missing.is_empty() {
        return Ok(());
    }
    type Row = (
        String,
        String,
        bool,
        Uuid,
        String,
        bool,
        String,
        bool,
        bool,
        bool,
    );
    let agency = missing.iter().map(|code| code.agency).collect();
    let code = missing.iter().map(|code| code.code.clone()).collect();
    let rows: Vec<Row> = Codes {
        facility,
        agency,
        code,
    }
    .load(connection)
    .await?;
    world
        .noticed
        .extend(watch::of_codes(connection, facility, &missing).await?);
    let mut fresh = Vec::new();
    let mut found: HashMap<(String, String), (Uuid, bool)> = HashMap::new();
    for (agency, code, package, product, name, catalogued, use_class, lot, serial, expiry) in rows {
        found.insert((agency, code), (product, package));
        let use_class = use_class.parse().map_err(|_| Failure::Unfit)?;
        let carries = LabelCarries {
            lot,
            serial,
            expiry,
        };
        let row = ProductRow {
            name,
            catalogued,
            use_class,
            carries,
            holds: Vec::new(),
            cylinders: Vec::new(),
            vials: Vec::new(),
            sterilized: None,
            notices: Vec::new(),
        };
        world.products.insert(product, row);
        fresh.push(product);
    }
    for code in missing {
        let product = found
            .get(&(code.agency.to_owned(), code.code.clone()))
            .copied();
        world.codes.insert(code, product);
    }
    for cylinder in cylinders::of(connection, Asked::OfProducts(&fresh)).await? {
        if let Some(product) = world.products.get_mut(&cylinder.product) {
            product.cylinders.push(cylinder);
        }
    }
    for vial in vials::of(connection, vials::Asked::OpenOf(&fresh)).await? {
        if let Some(product) = world.products.get_mut(&vial.product.0) {
            product.vials.push(vial);
        }
    }
    for (product, limit) in loads::limits(connection, fresh.clone()).await? {
        if let Some(product) = world.products.get_mut(&product) {
            product.sterilized = Some(limit);
        }
    }
    type Hold = (Uuid, String, Option<Uuid>, Option<Uuid>, String);
    for (product, notices) in watch::of_products(connection, facility, fresh.clone()).await? {
        if let Some(product) = world.products.get_mut(&product) {
            product.notices = notices;
        }
    }
    let rows: Vec<Hold> = Holds { products: fresh }.load(connection).await?;
    for (product, scope, lot, unit, reason) in rows {
        let scope = scope.parse().map_err(|_| Failure::Unfit)?;
        if let Some(product) = world.products.get_mut(&product) {
            product.holds.push(HoldRow {
                scope,
                lot,
                unit,
                reason,
            });
        }
    }
    Ok(())
}
