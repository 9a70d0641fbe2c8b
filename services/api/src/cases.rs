//! Cases: opening, scanning, striking, dispositions, signing, and the patient.

mod add_to;
mod amend_case;
mod amendment;
mod cancel_case;
mod complete_case;
mod deliver_held_scans;
mod list_cases;
mod list_scans;
mod open_case;
mod patient;
mod record_scan;
mod scan;
mod set_disposition;
mod show_case;
mod show_patient;
mod show_record;
mod show_sources;
mod sign_case;
mod start_case;
mod strike_scan;

pub(crate) use patient::Patient;
pub(crate) use scan::Finding;

use crate::app::App;
use crate::http::answer::render;
use crate::problem::ApiError;
use actix_web::http::StatusCode;
use lotwarden_domain::cases::CaseStatus;
use lotwarden_store::cases as store;
use lotwarden_store::facilities::Facility;
use lotwarden_store::moment::instant_text;
use lotwarden_store::sealing::Key;
use lotwarden_store::{Receipt, Rendered};
use serde::Serialize;
use utoipa::ToSchema;
use utoipa_actix_web::service_config::ServiceConfig;
use uuid::Uuid;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(open_case::open_case)
        .service(list_cases::list_cases)
        .service(show_case::show_case)
        .service(start_case::start_case)
        .service(complete_case::complete_case)
        .service(cancel_case::cancel_case)
        .service(sign_case::sign_case)
        .service(amend_case::amend_case)
        .service(show_patient::show_patient)
        .service(show_record::show_record)
        .service(show_sources::show_sources)
        .service(record_scan::record_scan)
        .service(deliver_held_scans::deliver_held_scans)
        .service(list_scans::list_scans)
        .service(list_scans::show_scan)
        .service(strike_scan::strike_scan)
        .service(set_disposition::set_disposition);
}

/// The caller's facility with its key, for what is sealed.
pub(crate) async fn facility_key(app: &App, id: Uuid) -> Result<(Facility, Key), ApiError> {
    let facility = app.recorder.facility(id).await?;
    let key = facility.key(app.recorder.master())?;
    Ok((facility, key))
}

/// The answer to a change of a case's state.
fn changed(case: &store::Case, receipt: Receipt) -> Rendered {
    render(
        StatusCode::OK,
        &Case::from(case),
        receipt,
        Some(case.version),
    )
}

/// Something with a name.
#[derive(Debug, Serialize, ToSchema)]
pub struct Named {
    /// Its id.
    id: Uuid,
    /// Its name.
    #[schema(example = "Procedure room 2")]
    name: String,
}

impl From<&(Uuid, String)> for Named {
    fn from((id, name): &(Uuid, String)) -> Self {
        Self {
            id: *id,
            name: name.clone(),
        }
    }
}

/// A case as it stands, without the patient's identity.
#[derive(Debug, Serialize, ToSchema)]
pub struct Case {
    /// The case.
    id: Uuid,
    /// The patient, by an id that says nothing of who it is.
    patient_id: Uuid,
    /// What is done.
    #[schema(example = "Vein ablation, left leg")]
    procedure: String,
    /// The room.
    location: Named,
    /// The practitioner.
    practitioner: Named,
    /// When it is planned.
    #[schema(format = DateTime)]
    scheduled_for: String,
    /// `preparation`, `in-progress`, `completed` or `not-done` (HL7 FHIR Procedure.status).
    #[schema(value_type = String, example = "preparation")]
    status: CaseStatus,
    /// When it started.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    started_at: Option<String>,
    /// When it was completed, or given up.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    ended_at: Option<String>,
    /// When it was opened.
    #[schema(format = DateTime)]
    opened_at: String,
    /// Counts the changes of the case, its strikes and dispositions; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

impl From<&store::Case> for Case {
    fn from(case: &store::Case) -> Self {
        Self {
            id: case.id,
            patient_id: case.patient,
            procedure: case.procedure.clone(),
            location: Named::from(&case.location),
            practitioner: Named::from(&case.practitioner),
            scheduled_for: instant_text(case.scheduled_for),
            status: case.status,
            started_at: case.started_at.map(instant_text),
            ended_at: case.ended_at.map(instant_text),
            opened_at: instant_text(case.opened_at),
            version: case.version,
        }
    }
}
