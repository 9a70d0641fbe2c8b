//! The cases of a batch, with the characters that are on them.

use super::super::{CaseFacts, World};
use crate::recorder::job::{BoxedScan, Failure};
use crate::recorder::statement::statement;
use diesel::sql_types::{Array, Bytea, Text, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use std::collections::{BTreeSet, HashMap};
use uuid::Uuid;

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

/// Reads the cases that the world lacks.
pub(super) async fn load(
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
