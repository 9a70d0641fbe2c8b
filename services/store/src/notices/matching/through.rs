//! What lies between a lot and a patient: mixes, fills of gas and loads. They also keep an item on
//! a case whose scan was taken back, or that was never scanned there.

use super::{Asked, ItemMatched, Row, Scope};
use crate::database::StoreError;
use crate::where_used::{CylinderThrough, LoadThrough, MixThrough, Through};
use diesel::sql_types::{Array, Text, Timestamptz, Uuid as SqlUuid};
use diesel::{QueryableByName, sql_query};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::cases::Disposition;
use lotwarden_domain::notices::{MatchClass, Witness};
use std::collections::{BTreeMap, BTreeSet, HashMap};
use uuid::Uuid;

/// What other records than standing scans have on cases.
#[derive(Default)]
pub(super) struct Unscanned {
    pub(super) items: Vec<ItemMatched>,
    /// The scans that were taken back and whose items another record has all the same.
    pub(super) scans: BTreeSet<Uuid>,
}

/// The items that a mix, recorded gas or an immediate-use cycle has on a case though no scan of
/// them stands there. The records differ, so they cannot be excluded, whatever they are named as.
pub(super) async fn unscanned(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
    items: &[ItemMatched],
    struck: &BTreeMap<Uuid, ItemMatched>,
) -> Result<Unscanned, StoreError> {
    let mut found = Unscanned::default();
    if !struck.is_empty() {
        of_mixes(connection, struck, &mut found).await?;
        of_gas(connection, items, struck, &mut found).await?;
    }
    of_loads(connection, scope, asked, &mut found).await?;
    Ok(found)
}

#[derive(QueryableByName)]
struct StepRow {
    #[diesel(sql_type = SqlUuid)]
    way: Uuid,
    #[diesel(sql_type = SqlUuid)]
    scan_id: Uuid,
    #[diesel(sql_type = Timestamptz)]
    at: jiff_diesel::Timestamp,
}

impl Unscanned {
    /// Adds the item of a struck use by another record than its scan.
    fn add(&mut self, item: &ItemMatched, witness: Witness, row: &StepRow) {
        self.items.push(ItemMatched {
            class: MatchClass::CannotExclude,
            witness,
            scan: None,
            through: vec![row.way],
            taken_at: row.at.to_jiff(),
            ..item.clone()
        });
    }
}

fn lots_and_scans(struck: &BTreeMap<Uuid, ItemMatched>) -> (Vec<Uuid>, Vec<Uuid>) {
    struck.iter().map(|(scan, item)| (item.lot, *scan)).unzip()
}

/// Ingredients of mixes: what a mix was made of stays in it when the scan is taken back.
async fn of_mixes(
    connection: &mut AsyncPgConnection,
    struck: &BTreeMap<Uuid, ItemMatched>,
    found: &mut Unscanned,
) -> Result<(), StoreError> {
    let (lots, scans) = lots_and_scans(struck);
    let rows: Vec<StepRow> = sql_query(
        "SELECT m.id AS way, q.scan AS scan_id, m.made_at AS at FROM unnest($1, $2) AS q (lot, scan),
         LATERAL (SELECT mix_id FROM mix_ingredients WHERE lot_id = q.lot AND scan_id = q.scan OFFSET 0) i,
         LATERAL (SELECT id, made_at FROM mixes WHERE id = i.mix_id OFFSET 0) m
         ORDER BY m.made_at, m.id, q.scan",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Array<SqlUuid>, _>(scans)
    .load(connection)
    .await?;
    for row in rows {
        if let Some(item) = struck.get(&row.scan_id) {
            found.scans.insert(row.scan_id);
            found.add(item, Witness::Mix, &row);
        }
    }
    Ok(())
}

/// Fills whose gas was recorded on the case, once a case, unless the fill was scanned there again.
async fn of_gas(
    connection: &mut AsyncPgConnection,
    items: &[ItemMatched],
    struck: &BTreeMap<Uuid, ItemMatched>,
    found: &mut Unscanned,
) -> Result<(), StoreError> {
    let (lots, scans) = lots_and_scans(struck);
    let rows: Vec<StepRow> = sql_query(
        "SELECT c.id AS way, q.scan AS scan_id, g.at FROM unnest($1, $2) AS q (lot, scan),
         LATERAL (SELECT case_id, unit_id FROM uses WHERE lot_id = q.lot AND scan_id = q.scan OFFSET 0) u,
         LATERAL (SELECT id FROM cylinders WHERE lot_id = q.lot AND unit_id IS NOT DISTINCT FROM u.unit_id OFFSET 0) c,
         LATERAL (SELECT min(at) AS at FROM gas_uses WHERE cylinder_id = c.id AND case_id = u.case_id OFFSET 0) g
         WHERE g.at IS NOT NULL ORDER BY g.at, c.id, q.scan",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Array<SqlUuid>, _>(scans)
    .load(connection)
    .await?;
    let on_case = |item: &ItemMatched| (item.case, item.lot, item.unit);
    let mut known: BTreeSet<_> = items.iter().map(on_case).collect();
    let standing = known.clone();
    for row in rows {
        let Some(item) = struck.get(&row.scan_id) else {
            continue;
        };
        let place = on_case(item);
        if standing.contains(&place) {
            continue;
        }
        found.scans.insert(row.scan_id);
        if known.insert(place) {
            found.add(item, Witness::Gas, &row);
        }
    }
    Ok(())
}

#[derive(QueryableByName)]
struct PieceRow {
    #[diesel(sql_type = SqlUuid)]
    load_id: Uuid,
    #[diesel(sql_type = Timestamptz)]
    started_at: jiff_diesel::Timestamp,
    #[diesel(sql_type = SqlUuid)]
    unit_id: Uuid,
    #[diesel(sql_type = Text)]
    serial: String,
    #[diesel(sql_type = SqlUuid)]
    lot_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    product_id: Uuid,
    #[diesel(sql_type = SqlUuid)]
    case_id: Uuid,
    #[diesel(sql_type = Text)]
    procedure_name: String,
    #[diesel(sql_type = Timestamptz)]
    scheduled_for: jiff_diesel::Timestamp,
    #[diesel(sql_type = Text)]
    status: String,
    #[diesel(sql_type = SqlUuid)]
    patient_id: Uuid,
}

/// The columns of a piece of an immediate-use cycle.
const PIECE: &str =
    "SELECT l.id AS load_id, l.started_at, t.id AS unit_id, t.serial, t.lot_id, t.product_id,
    l.case_id, c.procedure_name, c.scheduled_for, c.status, c.patient_id";

/// Left out are pieces that a standing scan has on the case.
const UNSCANNED: &str = "WHERE NOT EXISTS (SELECT FROM uses WHERE unit_id = t.id AND case_id = l.case_id AND struck_at IS NULL)
    ORDER BY l.started_at, l.id, t.id";

/// From the cycles to pieces of lots, or from the lots to their cycles: which is shorter the planner
/// knows, and such cycles are few.
const OF_LOTS: &str = "FROM loads l
    JOIN packs p ON p.load_id = l.id
    JOIN pack_units pu ON pu.pack_id = p.id
    JOIN units t ON t.id = pu.unit_id AND t.lot_id = ANY($1)
    JOIN cases c ON c.id = l.case_id";

/// From a patient's cases to the pieces of their cycles.
const OF_PATIENT: &str = "FROM (SELECT * FROM cases WHERE patient_id = $1 OFFSET 0) c,
    LATERAL (SELECT * FROM loads WHERE case_id = c.id OFFSET 0) l,
    LATERAL (SELECT id FROM packs WHERE load_id = l.id OFFSET 0) p,
    LATERAL (SELECT unit_id FROM pack_units WHERE pack_id = p.id OFFSET 0) pu,
    LATERAL (SELECT * FROM units WHERE id = pu.unit_id OFFSET 0) t";

/// Pieces of immediate-use cycles: such a cycle is run for one case. Read are those of the lots that
/// may be hit, or of the patient that is asked for, and no others.
async fn of_loads(
    connection: &mut AsyncPgConnection,
    scope: &Scope,
    asked: Asked,
    found: &mut Unscanned,
) -> Result<(), StoreError> {
    let lots = match asked {
        Asked::All | Asked::Counts => scope.lots_in_question(),
        Asked::Lot(lot) => vec![lot],
        Asked::Patient(_) => Vec::new(),
    };
    let rows: Vec<PieceRow> = match asked {
        Asked::Patient(patient) => {
            sql_query(format!("{PIECE} {OF_PATIENT} {UNSCANNED}"))
                .bind::<SqlUuid, _>(patient)
                .load(connection)
                .await?
        }
        Asked::All | Asked::Counts | Asked::Lot(_) => {
            sql_query(format!("{PIECE} {OF_LOTS} {UNSCANNED}"))
                .bind::<Array<SqlUuid>, _>(lots)
                .load(connection)
                .await?
        }
    };
    for row in rows {
        let hit = scope.class(Row {
            product: row.product_id,
            lot: row.lot_id,
            unit: Some((row.unit_id, &row.serial, row.lot_id)),
        });
        if hit.is_none() {
            continue;
        }
        let item = ItemMatched {
            class: MatchClass::CannotExclude,
            witness: Witness::Load,
            scan: None,
            through: vec![row.load_id],
            case: row.case_id,
            procedure: row.procedure_name,
            scheduled_for: row.scheduled_for.to_jiff(),
            status: row.status.parse().map_err(|_| StoreError::Unfit)?,
            patient: row.patient_id,
            product: row.product_id,
            lot: row.lot_id,
            unit: Some(row.unit_id),
            serial: Some(row.serial),
            disposition: Disposition::Used,
            taken_at: row.started_at.to_jiff(),
        };
        found.items.push(item);
    }
    Ok(())
}

/// A mix with the scan of its ingredient.
#[derive(QueryableByName)]
struct MixRow {
    #[diesel(sql_type = SqlUuid)]
    scan_id: Uuid,
    #[diesel(embed)]
    mix: MixThrough,
}

/// Everything between the items' lots and cases, and for each item its own steps.
pub(super) async fn between(
    connection: &mut AsyncPgConnection,
    items: &mut [ItemMatched],
) -> Result<Through, StoreError> {
    let lots: BTreeSet<Uuid> = items.iter().map(|item| item.lot).collect();
    let lots: Vec<Uuid> = lots.into_iter().collect();
    let units = items.iter().filter_map(|item| item.unit);
    let units: BTreeSet<Uuid> = units.collect();
    let mixes: Vec<MixRow> = sql_query(
        "SELECT i.scan_id, m.id, m.name, m.case_id AS case, q.id AS lot FROM unnest($1) AS q (id),
         LATERAL (SELECT mix_id, scan_id FROM mix_ingredients WHERE lot_id = q.id OFFSET 0) i,
         LATERAL (SELECT * FROM mixes WHERE id = i.mix_id OFFSET 0) m ORDER BY m.id, i.scan_id",
    )
    .bind::<Array<SqlUuid>, _>(&lots)
    .load(connection)
    .await?;
    let cylinders: Vec<CylinderThrough> = sql_query(
        "SELECT c.id, c.lot_id AS lot, c.unit_id AS unit FROM unnest($1) AS q (id),
         LATERAL (SELECT * FROM cylinders WHERE lot_id = q.id OFFSET 0) c ORDER BY c.id",
    )
    .bind::<Array<SqlUuid>, _>(&lots)
    .load(connection)
    .await?;
    let loads: Vec<LoadThrough> = sql_query(
        "SELECT l.id, s.name || ', cycle ' || l.cycle AS name, l.started_at, l.held_reason AS held, l.case_id AS case, pu.unit_id AS unit
         FROM pack_units pu
         JOIN packs p ON p.id = pu.pack_id
         JOIN loads l ON l.id = p.load_id
         JOIN sterilizers s ON s.id = l.sterilizer_id
         WHERE pu.unit_id = ANY($1)
         ORDER BY l.started_at, l.id, pu.unit_id",
    )
    .bind::<Array<SqlUuid>, _>(units.into_iter().collect::<Vec<_>>())
    .load(connection)
    .await?;
    let mut through = Through {
        mixes: mixes.iter().map(|row| row.mix.clone()).collect(),
        cylinders,
        loads,
    };
    let mut by_scan: HashMap<Uuid, Vec<Uuid>> = HashMap::new();
    for row in &mixes {
        by_scan.entry(row.scan_id).or_default().push(row.mix.id);
    }
    let fills = through.cylinders.iter();
    let fills: HashMap<_, Uuid> = fills.map(|fill| ((fill.lot, fill.unit), fill.id)).collect();
    let mut cycles: HashMap<Uuid, Vec<(jiff::Timestamp, Uuid)>> = HashMap::new();
    for load in &through.loads {
        let of_unit = cycles.entry(load.unit).or_default();
        of_unit.push((load.started_at.to_jiff(), load.id));
    }
    for item in items
        .iter_mut()
        .filter(|item| item.witness == Witness::Scan)
    {
        let mixes = item.scan.and_then(|scan| by_scan.get(&scan));
        item.through.extend(mixes.into_iter().flatten());
        item.through.extend(fills.get(&(item.lot, item.unit)));
        // The newest load before the use (loads/reached.rs).
        let cycles = item.unit.and_then(|unit| cycles.get(&unit));
        let cycles = cycles.into_iter().flatten();
        let mut before = cycles.filter(|(started, _)| *started < item.taken_at);
        item.through
            .extend(before.next_back().map(|(_, load)| *load));
    }
    let used: BTreeSet<Uuid> = items.iter().flat_map(|item| item.through.clone()).collect();
    through.mixes.retain(|mix| used.contains(&mix.id));
    through.cylinders.retain(|fill| used.contains(&fill.id));
    through.loads.retain(|load| used.contains(&load.id));
    Ok(through)
}
