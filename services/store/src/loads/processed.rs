//! What a scan has to know of a reusable piece: its newest load, its cycles and its last use.

use crate::recorder::statement::statement;
use diesel::sql_types::{
    Array, BigInt, Bool, Integer, Nullable, Text, Timestamptz, Uuid as SqlUuid,
};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use uuid::Uuid;

statement! {
    /// Products that the site sterilizes, with the maker's limit.
    Limits(products: Vec<Uuid> => Array<SqlUuid>) -> (SqlUuid, Nullable<Integer>),
    "SELECT l.product_id, l.most FROM unnest($1) AS q (id),
     LATERAL (SELECT product_id, most FROM cycle_limits WHERE product_id = q.id OFFSET 0) l"
}
statement! {
    /// Pieces with their newest load, their cycles and their last use that stands.
    ProcessedUnits(units: Vec<Uuid> => Array<SqlUuid>)
        -> (SqlUuid, BigInt, Nullable<Text>, Nullable<Text>, Nullable<Bool>, Nullable<Timestamptz>, Nullable<SqlUuid>, Nullable<Timestamptz>),
    "SELECT q.id, (SELECT count(*) FROM pack_units WHERE unit_id = q.id), l.name, l.held_reason, l.released, l.started_at,
        u.case_id, u.taken_at
     FROM unnest($1) AS q (id)
     LEFT JOIN LATERAL (
        SELECT s.name || ', cycle ' || l.cycle AS name, l.held_reason, l.released_at IS NOT NULL AS released, l.started_at
        FROM pack_units pu JOIN packs p ON p.id = pu.pack_id JOIN loads l ON l.id = p.load_id
        JOIN sterilizers s ON s.id = l.sterilizer_id
        WHERE pu.unit_id = q.id ORDER BY l.started_at DESC, l.id DESC LIMIT 1) l ON true
     LEFT JOIN LATERAL (
        SELECT case_id, taken_at FROM uses
        WHERE unit_id = q.id AND struck_at IS NULL AND disposition <> 'returned'
        ORDER BY taken_at DESC LIMIT 1) u ON true"
}

/// That the site sterilizes a product, with the maker's limit.
#[derive(Clone, Copy)]
pub(crate) struct LimitRow {
    pub(crate) most: Option<u32>,
}

/// A piece's processing.
#[derive(Clone, Default)]
pub(crate) struct Processed {
    pub(crate) cycles: u32,
    pub(crate) load: Option<ProcessedRow>,
    /// The case of the last use that stands, and when.
    pub(crate) last_use: Option<(Uuid, Timestamp)>,
}

/// The newest load of a piece.
#[derive(Clone)]
pub(crate) struct ProcessedRow {
    pub(crate) name: String,
    pub(crate) held: Option<String>,
    pub(crate) released: bool,
    pub(crate) started_at: Timestamp,
}

/// The products among these that the site sterilizes.
pub(crate) async fn limits(
    connection: &mut AsyncPgConnection,
    products: Vec<Uuid>,
) -> Result<Vec<(Uuid, LimitRow)>, diesel::result::Error> {
    let rows: Vec<(Uuid, Option<i32>)> = Limits { products }.load(connection).await?;
    let limit = |(product, most): (Uuid, Option<i32>)| {
        let most = most.and_then(|most| u32::try_from(most).ok());
        (product, LimitRow { most })
    };
    Ok(rows.into_iter().map(limit).collect())
}

/// The processing of pieces.
pub(crate) async fn processed(
    connection: &mut AsyncPgConnection,
    units: Vec<Uuid>,
) -> Result<Vec<(Uuid, Processed)>, diesel::result::Error> {
    type Instant = jiff_diesel::Timestamp;
    type Row = (
        Uuid,
        i64,
        Option<String>,
        Option<String>,
        Option<bool>,
        Option<Instant>,
        Option<Uuid>,
        Option<Instant>,
    );
    let rows: Vec<Row> = ProcessedUnits { units }.load(connection).await?;
    let one = |(unit, cycles, name, held, released, started, case, taken): Row| {
        let load = name.zip(started).map(|(name, started)| ProcessedRow {
            name,
            held,
            released: released.unwrap_or_default(),
            started_at: started.to_jiff(),
        });
        let last_use = case.zip(taken).map(|(case, at)| (case, at.to_jiff()));
        let processed = Processed {
            cycles: u32::try_from(cycles).unwrap_or(u32::MAX),
            load,
            last_use,
        };
        (unit, processed)
    };
    Ok(rows.into_iter().map(one).collect())
}
