//! Whom loads reached: the cases of the pieces that came from them, and of immediate-use cycles.

use crate::database::StoreError;
use diesel::prelude::QueryableByName;
use diesel::sql_types::{Array, Nullable, Timestamptz, Uuid as SqlUuid};
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

/// A case that a load reached.
#[derive(Clone, Debug, PartialEq, Eq, QueryableByName)]
pub struct Reached {
    /// The load.
    #[diesel(sql_type = SqlUuid)]
    pub load: Uuid,
    /// The case.
    #[diesel(sql_type = SqlUuid)]
    pub case: Uuid,
    /// The patient, by id.
    #[diesel(sql_type = SqlUuid)]
    pub patient: Uuid,
    /// The pack; none for the patient of an immediate-use cycle whose piece was not scanned.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub pack: Option<Uuid>,
    /// The piece.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub unit: Option<Uuid>,
    /// The scan that put the piece on the case.
    #[diesel(sql_type = Nullable<SqlUuid>)]
    pub scan: Option<Uuid>,
    /// When it was put there, or when the immediate-use cycle started.
    #[diesel(sql_type = Timestamptz)]
    pub at: jiff_diesel::Timestamp,
}

/// The cases that loads reached: a use belongs to the newest load its piece went through before it.
/// Struck uses and pieces returned unopened reached nobody.
pub(crate) async fn reached(
    connection: &mut AsyncPgConnection,
    loads: &[Uuid],
) -> Result<Vec<Reached>, StoreError> {
    let rows = diesel::sql_query(
        "SELECT l.id AS load, u.case_id AS case, c.patient_id AS patient, p.id AS pack, pu.unit_id AS unit,
            u.scan_id AS scan, u.taken_at AS at
         FROM loads l JOIN packs p ON p.load_id = l.id JOIN pack_units pu ON pu.pack_id = p.id
         JOIN uses u ON u.unit_id = pu.unit_id JOIN cases c ON c.id = u.case_id
         WHERE l.id = ANY ($1) AND u.taken_at > l.started_at AND u.struck_at IS NULL AND u.disposition <> 'returned'
            AND NOT EXISTS (
                SELECT FROM pack_units pu2 JOIN packs p2 ON p2.id = pu2.pack_id JOIN loads l2 ON l2.id = p2.load_id
                WHERE pu2.unit_id = pu.unit_id AND l2.started_at > l.started_at AND l2.started_at < u.taken_at)
         UNION ALL
         SELECT l.id, l.case_id, c.patient_id, NULL, NULL, NULL, l.started_at
         FROM loads l JOIN cases c ON c.id = l.case_id
         WHERE l.id = ANY ($1) AND NOT EXISTS (
            SELECT FROM packs p JOIN pack_units pu ON pu.pack_id = p.id JOIN uses u ON u.unit_id = pu.unit_id
            WHERE p.load_id = l.id AND u.case_id = l.case_id AND u.struck_at IS NULL)
         ORDER BY at, load, scan",
    )
    .bind::<Array<SqlUuid>, _>(loads)
    .load(connection)
    .await?;
    Ok(rows)
}
