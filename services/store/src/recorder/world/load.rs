//! Reading the facts a batch needs and the writer does not have, in a few set queries.
//!
//! Each look-up stands behind `OFFSET 0`, so that it goes by its key in the order written, whatever
//! the tables' statistics said when the statement was planned.

use super::{CaseFacts, ClaimRow, HoldRow, LotRow, ProductRow, UnitRow, World};
use crate::access::{change_policy, stations};
use crate::cylinders::{self, Asked};
use crate::facilities::Facility;
use crate::loads::{self, Processed};
use crate::notices::watch;
use crate::recorder::job::{BoxedScan, Failure};
use crate::recorder::statement::statement;
use diesel::sql_types::{
    Array, Bool, Bytea, Date, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::catalogue::LabelCarries;
use lotwarden_domain::label::{Circumstances, Label, ProductCode, UnreadLabel};
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

type Instant = jiff_diesel::Timestamp;

statement! {
    /// Cases with their patients' keys.
    Cases(ids: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text, SqlUuid, SqlUuid, Bytea),
    "SELECT c.id, c.status, c.location_id, c.patient_id, p.wrapped_key
     FROM unnest($1) AS q (id), LATERAL (SELECT * FROM cases WHERE id = q.id OFFSET 0) c,
     LATERAL (SELECT wrapped_key FROM patients WHERE id = c.patient_id OFFSET 0) p"
}
statement! {
    /// The characters that put standing uses on cases.
    Texts(cases: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Text, SqlUuid),
    "SELECT c.id, s.text, s.id FROM unnest($1) AS c (id),
     LATERAL (SELECT id, text, lot_id FROM scans WHERE case_id = c.id AND text IS NOT NULL OFFSET 0) s,
     LATERAL (SELECT 1 FROM uses WHERE lot_id = s.lot_id AND scan_id = s.id AND struck_at IS NULL OFFSET 0) u
     ORDER BY s.id DESC"
}
statement! {
    /// Products by identifier.
    Codes(facility: Uuid => SqlUuid, agency: Vec<&'static str> => Array<Text>, code: Vec<String> => Array<Text>)
        -> (Text, Text, SqlUuid, Text, Bool, Text, Bool, Bool, Bool),
    "SELECT i.agency, i.code, p.id, p.name, p.catalogued, p.use_class, p.carries_lot, p.carries_serial, p.carries_expiry
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
statement! {
    /// Pieces by serial, with the use that claims each.
    Units(product: Vec<Uuid> => Array<SqlUuid>, serial: Vec<String> => Array<Text>)
        -> (SqlUuid, Text, SqlUuid, SqlUuid, Nullable<SqlUuid>, Nullable<SqlUuid>, Nullable<SqlUuid>, Nullable<Timestamptz>),
    "SELECT u.product_id, u.serial, u.id, u.lot_id, u.location_id, c.case_id, c.scan_id, c.taken_at
     FROM unnest($1, $2) AS q (product, serial),
     LATERAL (SELECT * FROM units WHERE product_id = q.product AND serial = q.serial OFFSET 0) u
     LEFT JOIN LATERAL (SELECT * FROM unit_claims WHERE unit_id = u.id OFFSET 0) c ON true"
}
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

/// What the labels say, each read on the day of its scan at the facility, with what its station
/// sends for the separator.
pub(crate) async fn read_labels(
    connection: &mut AsyncPgConnection,
    facility: &Facility,
    world: &mut World,
    jobs: &[BoxedScan],
    at: Timestamp,
) -> Result<Vec<Result<Label, UnreadLabel>>, Failure> {
    let mut asked = jobs.iter().filter_map(|job| job.waiting.request.station);
    if asked.any(|station| !world.stations.contains_key(&station)) {
        world.stations = stations::all_separators(connection).await?;
    }
    let read = |job: &BoxedScan| {
        let station = job.waiting.request.station;
        let known = station.and_then(|station| world.stations.get(&station));
        job.scan.read(Circumstances {
            today: facility.day(job.scan.occurred_at.unwrap_or(at)),
            separators: known.cloned().unwrap_or_default(),
        })
    };
    Ok(jobs.iter().map(read).collect())
}

/// Reads what the jobs need and the world lacks.
pub(crate) async fn load(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    world: &mut World,
    jobs: &[BoxedScan],
    labels: &[Result<Label, UnreadLabel>],
) -> Result<(), Failure> {
    if world.policy.is_none() {
        world.policy = Some(change_policy::current(connection).await?.settings);
    }
    cases(connection, world, jobs).await?;
    let labels: Vec<&Label> = labels.iter().flatten().collect();
    codes(connection, facility, world, &labels).await?;
    units(connection, world, &labels).await?;
    lots(connection, world, &labels).await
}

async fn cases(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    jobs: &[BoxedScan],
) -> Result<(), Failure> {
    let asked: BTreeSet<Uuid> = jobs.iter().map(|job| job.scan.case).collect();
    let ids: Vec<Uuid> = asked
        .into_iter()
        .filter(|id| !world.cases.contains_key(id))
        .collect();
    if ids.is_empty() {
        return Ok(());
    }
    type Row = (Uuid, String, Uuid, Uuid, Vec<u8>);
    let rows: Vec<Row> = Cases { ids: ids.clone() }.load(connection).await?;
    world.cases.extend(ids.iter().map(|id| (*id, None)));
    for (id, status, location, patient, wrapped_key) in rows {
        let status = status.parse().map_err(|_| Failure::Unfit)?;
        let texts = HashMap::new();
        let facts = CaseFacts {
            status,
            location,
            patient,
            wrapped_key,
            texts,
        };
        world.cases.insert(id, Some(facts));
    }
    let rows: Vec<(Uuid, String, Uuid)> = Texts { cases: ids }.load(connection).await?;
    for (case, text, scan) in rows {
        if let Some(Some(case)) = world.cases.get_mut(&case) {
            case.texts.insert(text, scan);
        }
    }
    Ok(())
}

async fn codes(
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
    type Row = (String, String, Uuid, String, bool, String, bool, bool, bool);
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
    let mut found: HashMap<(String, String), Uuid> = HashMap::new();
    for (agency, code, product, name, catalogued, use_class, lot, serial, expiry) in rows {
        found.insert((agency, code), product);
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

async fn units(
    connection: &mut AsyncPgConnection,
    world: &mut World,
    labels: &[&Label],
) -> Result<(), Failure> {
    let mut missing = BTreeSet::new();
    for label in labels {
        if let (Some(product), Some(serial)) = (world.product_of(label), &label.serial) {
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

async fn lots(
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
        let serial = label.serial.as_ref();
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
        });
        lot.levels.extend(place.zip(quantity));
    }
    Ok(())
}

impl World {
    /// The product a label names, when the catalogue has it.
    pub(crate) fn product_of(&self, label: &Label) -> Option<Uuid> {
        label.codes().find_map(|code| *self.codes.get(code)?)
    }
}
