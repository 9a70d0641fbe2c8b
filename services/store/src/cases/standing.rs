//! What stands on a case: a scan's use, its strike, and whether the case is signed.

use crate::database::StoreError;
use crate::schema::{scans, signatures, strikes, uses};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use uuid::Uuid;

/// The use of a scan, as its row says.
#[derive(Queryable, Selectable)]
#[diesel(table_name = uses)]
pub(super) struct UseRow {
    pub(super) scan_id: Uuid,
    pub(super) product_id: Uuid,
    pub(super) lot_id: Uuid,
    pub(super) unit_id: Option<Uuid>,
    pub(super) drawn_from: Option<Uuid>,
    pub(super) disposition: String,
    pub(super) disposition_reason: Option<String>,
    pub(super) version: i32,
}

/// A scan of a case with the use it put there.
pub(super) struct Standing {
    pub(super) verdict: String,
    pub(super) on_case: Option<UseRow>,
    pub(super) struck: bool,
}

/// Reads a scan of a case; none when the case has no such scan.
pub(super) async fn find(
    connection: &mut AsyncPgConnection,
    case: Uuid,
    scan: Uuid,
) -> Result<Option<Standing>, StoreError> {
    let row: Option<(String, Option<UseRow>, Option<Uuid>)> = scans::table
        .left_join(
            uses::table.on(uses::scan_id
                .eq(scans::id)
                .and(uses::lot_id.nullable().eq(scans::lot_id))),
        )
        .left_join(strikes::table.on(strikes::scan_id.eq(scans::id)))
        .filter(scans::case_id.eq(case))
        .filter(scans::id.eq(scan))
        .select((
            scans::verdict,
            Option::<UseRow>::as_select(),
            strikes::scan_id.nullable(),
        ))
        .first(connection)
        .await
        .optional()?;
    Ok(row.map(|(verdict, on_case, struck)| Standing {
        verdict,
        on_case,
        struck: struck.is_some(),
    }))
}

/// Whether somebody signed the case: from then on nothing on it changes.
pub(super) async fn is_signed(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<bool, StoreError> {
    let signed = signatures::table.filter(signatures::case_id.eq(case));
    Ok(diesel::select(exists(signed))
        .get_result(connection)
        .await?)
}
