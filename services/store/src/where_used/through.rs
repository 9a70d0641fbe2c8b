//! What lies between a lot and a patient: mixes, fills of gas, and sterilizer loads.

use crate::database::StoreError;
use diesel::prelude::QueryableByName;
use diesel::sql_types::{Array, Nullable, Text, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

/// The mixes, fills and loads that an item went through or is.
#[derive(Clone, Debug, Default)]
pub struct Through {
    /// Mixes that hold the item.
    pub mixes: Vec<MixThrough>,
    /// Fills of gas that are the item.
    pub cylinders: Vec<CylinderThrough>,
    /// Loads that the item went through.
    pub loads: Vec<LoadThrough>,
}

/// A mix that holds an item.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct MixThrough {
    /// The mix.
    #[diesel(sql_type = SqlUuid)]
    pub id: Uuid,
    /// What the team called it.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// Its case.
    #[diesel(sql_type = SqlUuid)]
    pub case: Uuid,
    /// The ingredient lot.
    #[diesel(sql_type = SqlUuid)]
    pub lot: Uuid,
}

/// A fill of gas.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct CylinderThrough {
    /// The fill.
    #[diesel(sql_type = SqlUuid)]
    pub id: Uuid,
    /// Its lot.
    #[diesel(sql_type = SqlUuid)]
    pub lot: Uuid,
    /// Its container.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub unit: Option<Uuid>,
}

/// A load that a piece went through.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct LoadThrough {
    /// The load.
    #[diesel(sql_type = SqlUuid)]
    pub id: Uuid,
    /// Its sterilizer and cycle.
    #[diesel(sql_type = Text)]
    pub name: String,
    /// When it started.
    #[diesel(sql_type = Timestamptz)]
    pub started_at: jiff_diesel::Timestamp,
    /// Why it is held, if it is.
    #[diesel(sql_type = Nullable<Text>)]
    pub held: Option<String>,
    /// The case an immediate-use cycle was run for.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub case: Option<Uuid>,
    /// The piece.
    #[diesel(sql_type = SqlUuid)]
    pub unit: Uuid,
}

const LOADS: &str =
    "SELECT l.id, s.name || ', cycle ' || l.cycle AS name, l.started_at, l.held_reason AS held, l.case_id AS case, pu.unit_id AS unit
     FROM pack_units pu JOIN packs p ON p.id = pu.pack_id JOIN loads l ON l.id = p.load_id JOIN sterilizers s ON s.id = l.sterilizer_id";

/// What lots, and the pieces of them, went through; of one piece if it is named.
pub(super) async fn of_lots(
    connection: &mut AsyncPgConnection,
    lots: &[Uuid],
    piece: Option<Uuid>,
) -> Result<Through, StoreError> {
    let mixes = diesel::sql_query(
        "SELECT m.id, m.name, m.case_id AS case, i.lot_id AS lot FROM mix_ingredients i JOIN mixes m ON m.id = i.mix_id
         WHERE i.lot_id = ANY ($1) AND ($2::uuid IS NULL OR i.unit_id IS NULL OR i.unit_id = $2) ORDER BY m.id, i.line",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Nullable<SqlUuid>, _>(piece)
    .load(connection)
    .await?;
    let cylinders = diesel::sql_query(
        "SELECT id, lot_id AS lot, unit_id AS unit FROM cylinders
         WHERE lot_id = ANY ($1) AND ($2::uuid IS NULL OR unit_id IS NULL OR unit_id = $2) ORDER BY id",
    )
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Nullable<SqlUuid>, _>(piece)
    .load(connection)
    .await?;
    let loads = diesel::sql_query(format!(
        "{LOADS} JOIN units u ON u.id = pu.unit_id
         WHERE u.lot_id = ANY ($1) AND ($2::uuid IS NULL OR u.id = $2) ORDER BY l.started_at, l.id, pu.unit_id"
    ))
    .bind::<Array<SqlUuid>, _>(lots)
    .bind::<Nullable<SqlUuid>, _>(piece)
    .load(connection)
    .await?;
    Ok(Through {
        mixes,
        cylinders,
        loads,
    })
}

/// What went into a case beside boxed items: its mixes with their lots, its fills of gas, and the
/// load that each of its pieces came from.
pub(crate) async fn of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Through, StoreError> {
    let mixes = diesel::sql_query(
        "SELECT m.id, m.name, m.case_id AS case, i.lot_id AS lot FROM mixes m JOIN mix_ingredients i ON i.mix_id = m.id
         WHERE m.case_id = $1 ORDER BY m.id, i.line",
    )
    .bind::<SqlUuid, _>(case)
    .load(connection)
    .await?;
    let cylinders = diesel::sql_query(
        "SELECT DISTINCT c.id, c.lot_id AS lot, c.unit_id AS unit FROM gas_uses g JOIN cylinders c ON c.id = g.cylinder_id
         WHERE g.case_id = $1 ORDER BY c.id",
    )
    .bind::<SqlUuid, _>(case)
    .load(connection)
    .await?;
    let loads = diesel::sql_query(format!(
        "SELECT DISTINCT ON (u.scan_id) l.* FROM scans s JOIN uses u ON u.lot_id = s.lot_id AND u.scan_id = s.id
         JOIN ({LOADS}) l ON l.unit = u.unit_id AND l.started_at < u.taken_at
         WHERE s.case_id = $1 AND u.struck_at IS NULL AND u.disposition <> 'returned'
         ORDER BY u.scan_id, l.started_at DESC, l.id DESC"
    ))
    .bind::<SqlUuid, _>(case)
    .load(connection)
    .await?;
    Ok(Through {
        mixes,
        cylinders,
        loads,
    })
}

/// A load with the pieces that went through it.
pub(super) async fn of_load(
    connection: &mut AsyncPgConnection,
    load: Uuid,
) -> Result<Through, StoreError> {
    let loads = diesel::sql_query(format!("{LOADS} WHERE l.id = $1 ORDER BY pu.unit_id"))
        .bind::<SqlUuid, _>(load)
        .load(connection)
        .await?;
    Ok(Through {
        loads,
        ..Through::default()
    })
}
