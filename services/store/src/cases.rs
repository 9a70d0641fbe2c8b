//! Cases: one procedure on one patient, with its scans, uses, strikes and signatures.

mod add_to;
mod amend_case;
mod amendments;
mod cancel_case;
mod change_status;
mod complete_case;
mod list_cases;
mod list_scans;
mod open_case;
mod patient;
mod record;
mod set_disposition;
mod shelf;
mod show_case;
mod show_patient;
mod show_record;
mod show_scan_text;
mod show_sources;
mod sign_case;
mod standing;
mod start_case;
mod strike_scan;

pub use add_to::NotOpen;
pub use amend_case::{AmendCase, AmendCaseRefusal};
pub use amendments::{Amendment, Correction};
pub use cancel_case::CancelCase;
pub use change_status::ChangeStatusRefusal;
pub use complete_case::CompleteCase;
pub use list_cases::{CaseFilter, list};
pub use list_scans::{ScanItem, Strike, UseOnCase, list_scans, show_scan};
pub use open_case::{OpenCase, OpenCaseRefusal};
pub use patient::Patient;
pub use record::{Part, Recorded, Stated};
pub use set_disposition::{SetDisposition, SetDispositionRefusal};
pub use show_case::{CaseCounts, CaseShown, Signature, exists, show};
pub use show_patient::{ShowPatient, ShowPatientRefusal};
pub use show_record::{RecordShown, show_record};
pub use show_scan_text::{ShowScanText, ShowScanTextRefusal};
pub use show_sources::{SourceLot, Sources, show_sources};
pub use sign_case::{SignCase, SignCaseRefusal, Signed};
pub use start_case::StartCase;
pub use strike_scan::{StrikeScan, StrikeScanRefusal};

pub(crate) use add_to::add_to;
pub(crate) use amendments::{
    of_case as amendments_of_case, of_cases as amendments_of_cases, parts as amended_parts,
};
pub(crate) use list_cases::between as cases_between;
pub(crate) use patient::{by_id as patients_by_id, open as open_patient};
pub(crate) use record::of_case as record_of_case;
pub(crate) use show_case::signatures_of;

use crate::database::StoreError;
use crate::schema::{cases, locations, people};
use diesel::dsl::{Eq, InnerJoinOn};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::cases::CaseStatus;
use uuid::Uuid;

/// A case as it stands, without the patient's identity.
#[derive(Clone, Debug)]
pub struct Case {
    /// The case.
    pub id: Uuid,
    /// The patient, by id; says nothing of who it is.
    pub patient: Uuid,
    /// What is done.
    pub procedure: String,
    /// The room, by id and name.
    pub location: (Uuid, String),
    /// The practitioner, by id and name.
    pub practitioner: (Uuid, String),
    /// When it is planned.
    pub scheduled_for: Timestamp,
    /// Its state.
    pub status: CaseStatus,
    /// When it started.
    pub started_at: Option<Timestamp>,
    /// When it was completed, or given up.
    pub ended_at: Option<Timestamp>,
    /// When it was opened.
    pub opened_at: Timestamp,
    /// Counts the changes of the case, its strikes and dispositions; the entity tag.
    pub version: i32,
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = cases)]
pub(crate) struct CaseRow {
    pub(crate) id: Uuid,
    pub(crate) patient_id: Uuid,
    pub(crate) procedure_name: String,
    pub(crate) location_id: Uuid,
    pub(crate) practitioner_id: Uuid,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    pub(crate) scheduled_for: Timestamp,
    pub(crate) status: String,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    pub(crate) started_at: jiff_diesel::NullableTimestamp,
    #[diesel(deserialize_as = jiff_diesel::NullableTimestamp)]
    pub(crate) ended_at: jiff_diesel::NullableTimestamp,
    pub(crate) version: i32,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    pub(crate) created_at: Timestamp,
}

type Named = InnerJoinOn<
    InnerJoinOn<cases::table, locations::table, Eq<locations::id, cases::location_id>>,
    people::table,
    Eq<people::id, cases::practitioner_id>,
>;

/// Cases with the names of the room and the practitioner.
fn named() -> Named {
    cases::table
        .inner_join(locations::table.on(locations::id.eq(cases::location_id)))
        .inner_join(people::table.on(people::id.eq(cases::practitioner_id)))
}

impl Case {
    fn of((row, location, practitioner): (CaseRow, String, String)) -> Result<Self, StoreError> {
        Ok(Self {
            id: row.id,
            patient: row.patient_id,
            procedure: row.procedure_name,
            location: (row.location_id, location),
            practitioner: (row.practitioner_id, practitioner),
            scheduled_for: row.scheduled_for,
            status: row.status.parse().map_err(|_| StoreError::Unfit)?,
            started_at: row.started_at.to_jiff(),
            ended_at: row.ended_at.to_jiff(),
            opened_at: row.created_at,
            version: row.version,
        })
    }
}

/// Reads one case; none when there is no such case.
pub(crate) async fn find(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Case>, StoreError> {
    let row = named()
        .filter(cases::id.eq(id))
        .select((CaseRow::as_select(), locations::name, people::name))
        .first(connection)
        .await
        .optional()?;
    row.map(Case::of).transpose()
}
