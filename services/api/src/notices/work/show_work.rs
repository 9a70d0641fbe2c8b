//! `GET /v1/notices/{notice}/work`

use super::WorkEvent;
use super::close_notice::ClosingSignature;
use super::list_notice_tasks::NoticeTask;
use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{MatchClass, ReviewDecision};
use lotwarden_store::notices::work as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// The work on a notice as it stands, without any patient's identity.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeWork {
    /// The first notice of the matter.
    notice_id: Uuid,
    /// The tasks, in the order they are usually done.
    tasks: Vec<NoticeTask>,
    /// The lots with what came in and where it is or went.
    lots: Vec<LotWork>,
    /// The patients, by id.
    patients: Vec<PatientWork>,
    /// The newest sample that was drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    sample: Option<SampleDrawn>,
    /// The signatures, in their order.
    signatures: Vec<ClosingSignature>,
    /// Everything that was done, in its order.
    events: Vec<WorkEvent>,
}

/// Where the units of use of a lot are or went: `received` is the sum of the others and of
/// `unaccounted`.
#[derive(Debug, Serialize, ToSchema)]
pub struct LotWork {
    /// The lot.
    lot_id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its number; none for the items whose lot was not recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    number: Option<String>,
    /// How the notice hits it; none where it hits single pieces or uses of it alone.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "affected")]
    class: Option<MatchClass>,
    /// Received.
    received: u64,
    /// What the stock record says is there.
    on_record: i64,
    /// Whether a person counted; before, `on_hand`, `quarantined` and `unaccounted` cannot be
    /// computed and are left out.
    counted: bool,
    /// On the shelf, as counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    on_hand: Option<u64>,
    /// In quarantine, as counted.
    #[serde(skip_serializing_if = "Option::is_none")]
    quarantined: Option<u64>,
    /// Used.
    used: u64,
    /// Wasted.
    wasted: u64,
    /// Sent back.
    returned: u64,
    /// Destroyed.
    destroyed: u64,
    /// Received less all of these; below zero when more is known of than was received.
    #[serde(skip_serializing_if = "Option::is_none")]
    unaccounted: Option<i64>,
    /// The percentage accounted for, with two decimals.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "95.83")]
    accounted_percent: Option<String>,
    /// Tracking numbers and ways of destruction.
    tracking: Vec<String>,
    /// Whether it closes, or the difference is explained under signature.
    settled: bool,
}

/// The work on one patient.
#[derive(Debug, Serialize, ToSchema)]
pub struct PatientWork {
    /// The patient, by id.
    patient_id: Uuid,
    /// The worst class of the patient's items.
    #[schema(value_type = String, example = "affected")]
    class: MatchClass,
    /// How many items.
    items: usize,
    /// What the practitioner decided: `notify`, `not_needed` or `not_reached`.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, example = "notify")]
    decision: Option<ReviewDecision>,
    /// Attempts to tell the patient.
    attempts: usize,
    /// Whether one of them reached the patient, or the patient declined.
    told: bool,
    /// What the newest check found.
    #[serde(skip_serializing_if = "Option::is_none")]
    effective: Option<bool>,
}

/// Patients drawn for an effectiveness check.
#[derive(Debug, Serialize, ToSchema)]
pub struct SampleDrawn {
    /// The level, `A` to `E`.
    level: String,
    /// How many were to be told.
    population: usize,
    /// What the draw hangs on.
    seed: String,
    /// Those drawn, in the order of the draw.
    patient_ids: Vec<Uuid>,
}

impl From<&store::LotIdentity> for LotWork {
    fn from(lot: &store::LotIdentity) -> Self {
        let counted = |count: u64| lot.counted.then_some(count);
        let percent = lot.reconciled().and_then(|all| all.percent());
        Self {
            lot_id: lot.lot,
            product_id: lot.product,
            number: lot.number.clone(),
            class: lot.class,
            received: lot.received,
            on_record: lot.on_record,
            counted: lot.counted,
            on_hand: counted(lot.counts.on_hand),
            quarantined: counted(lot.counts.quarantined),
            used: lot.counts.used,
            wasted: lot.counts.wasted,
            returned: lot.counts.returned,
            destroyed: lot.counts.destroyed,
            unaccounted: lot.unaccounted(),
            accounted_percent: percent.map(|percent| format!("{percent:.2}")),
            tracking: lot.tracking.clone(),
            settled: lot.settled(),
        }
    }
}

impl From<&store::PatientWork> for PatientWork {
    fn from(patient: &store::PatientWork) -> Self {
        Self {
            patient_id: patient.patient,
            class: patient.class,
            items: patient.items,
            decision: patient.decision,
            attempts: patient.attempts,
            told: patient.told,
            effective: patient.effective,
        }
    }
}

impl From<&store::Work> for NoticeWork {
    fn from(work: &store::Work) -> Self {
        Self {
            notice_id: work.notice,
            tasks: work.tasks.iter().map(NoticeTask::from).collect(),
            lots: work.lots.iter().map(LotWork::from).collect(),
            patients: work.patients.iter().map(PatientWork::from).collect(),
            sample: work.sample.as_ref().map(|sample| SampleDrawn {
                level: sample.level.clone(),
                population: sample.population,
                seed: sample.seed.clone(),
                patient_ids: sample.patients.clone(),
            }),
            signatures: work.signatures.iter().map(ClosingSignature::from).collect(),
            events: work.events.iter().map(WorkEvent::from).collect(),
        }
    }
}

/// Shows the work on a notice: tasks, lots with their numbers, patients by id, and all that was
/// done. An unconfirmed notice has none.
#[utoipa::path(
    operation_id = "show_work", tag = "notices",
    params(("notice" = Uuid, Path, description = "The notice; of an update, the whole matter is shown.")),
    responses((status = 200, description = "The work.", body = NoticeWork), Refusals),
)]
#[get("/v1/notices/{notice}/work")]
pub(super) async fn show_work(
    allowed: Allowed<act::ShowWork>,
    app: Data<App>,
    notice: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let work = store::show_work(&mut reading, notice.into_inner()).await?;
    let work = work.ok_or_else(|| ApiError::no_such("notice"))?;
    Ok(HttpResponse::Ok().json(NoticeWork::from(&work)))
}
