//! How far the work on a notice is.

use super::super::matching::{self, Asked, Matches};
use super::events::{self, Check, NoticeEvent, Outreach, Sample, Signature};
use super::{FirmAnswer, LotIdentity, Task, TaskRow, WorkRefusal, identity};
use crate::database::{Reading, StoreError};
use crate::recorder::{Refused, Writing};
use crate::schema::{notice_tasks, notices};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use lotwarden_domain::notices::{MatchClass, OutreachResult, ReviewDecision};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The work on a notice as it stands, without any patient's identity.
#[derive(Clone, Debug)]
pub struct Work {
    /// The first notice of the matter.
    pub notice: Uuid,
    /// The tasks, in the order they are usually done.
    pub tasks: Vec<Task>,
    /// The lots with their identities.
    pub lots: Vec<LotIdentity>,
    /// The patients, by id.
    pub patients: Vec<PatientWork>,
    /// The newest sample that was drawn.
    pub sample: Option<Sample>,
    /// The signatures, in their order.
    pub signatures: Vec<Signature>,
    /// Everything that was done, in its order.
    pub events: Vec<NoticeEvent>,
}

/// The work on one patient.
#[derive(Clone, Debug)]
pub struct PatientWork {
    /// The patient, by id.
    pub patient: Uuid,
    /// The worst class of the patient's items.
    pub class: MatchClass,
    /// How many items.
    pub items: usize,
    /// The newest decision.
    pub decision: Option<ReviewDecision>,
    /// Attempts to tell the patient.
    pub attempts: usize,
    /// Whether one of them reached the patient, or the patient declined.
    pub told: bool,
    /// What the newest check found.
    pub effective: Option<bool>,
}

/// Shows the work on a notice; none when there is no such notice.
///
/// # Errors
/// [`StoreError`].
pub async fn show(reading: &mut Reading, notice: Uuid) -> Result<Option<Work>, StoreError> {
    let root: Option<Uuid> = notices::table
        .find(notice)
        .select(notices::root_id)
        .first(reading.connection())
        .await
        .optional()?;
    let facility = reading.facility();
    match root {
        None => Ok(None),
        Some(root) => Ok(Some(of(reading.connection(), facility, root).await?)),
    }
}

/// The newest answer to the firm, with the event it stands as; none when there is none.
///
/// # Errors
/// [`StoreError`].
pub async fn newest_answer(
    reading: &mut Reading,
    notice: Uuid,
) -> Result<Option<(NoticeEvent, FirmAnswer)>, StoreError> {
    let root: Option<Uuid> = notices::table
        .find(notice)
        .select(notices::root_id)
        .first(reading.connection())
        .await
        .optional()?;
    let Some(root) = root else {
        return Ok(None);
    };
    let events = events::all(reading.connection(), root).await?;
    let last = events::of_kind(&events, "answer").last().transpose()?;
    Ok(last.map(|(event, answer)| (event.clone(), answer)))
}

/// The work on a matter.
pub(super) async fn of(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    root: Uuid,
) -> Result<Work, StoreError> {
    let (matches, _) = matching::find(connection, facility, root, Asked::Counts).await?;
    let events = events::all(connection, root).await?;
    let rows: Vec<TaskRow> = notice_tasks::table
        .filter(notice_tasks::notice_id.eq(root))
        .select(TaskRow::as_select())
        .load(connection)
        .await?;
    let tasks = rows.into_iter().map(Task::try_from);
    let mut tasks = tasks.collect::<Result<Vec<_>, _>>()?;
    tasks.sort_by_key(|task| task.kind);
    let sample = events::of_kind(&events, "sample").last().transpose()?;
    let signatures = events::of_kind(&events, "signature");
    let signatures = signatures.map(|one| one.map(|(_, signature)| signature));
    Ok(Work {
        notice: root,
        tasks,
        lots: identity::of_lots(connection, &matches, &events).await?,
        patients: patients(&matches, &events)?,
        sample: sample.map(|(_, sample)| sample),
        signatures: signatures.collect::<Result<_, _>>()?,
        events,
    })
}

fn patients(matches: &Matches, events: &[NoticeEvent]) -> Result<Vec<PatientWork>, StoreError> {
    let decisions = events::decisions(events)?;
    let mut patients: BTreeMap<Uuid, PatientWork> = BTreeMap::new();
    for item in &matches.items {
        let of_patient = patients.entry(item.patient).or_insert(PatientWork {
            patient: item.patient,
            class: item.class,
            items: 0,
            decision: decisions.get(&item.patient).copied(),
            attempts: 0,
            told: false,
            effective: None,
        });
        of_patient.items += 1;
        of_patient.class = of_patient.class.max(item.class);
    }
    for event in events::of_kind::<Outreach>(events, "outreach") {
        let (event, outreach) = event?;
        let patient = event.patient.and_then(|patient| patients.get_mut(&patient));
        if let Some(patient) = patient {
            let told = [OutreachResult::Reached, OutreachResult::Declined];
            patient.attempts += 1;
            patient.told |= told.contains(&outreach.result);
        }
    }
    for event in events::of_kind::<Check>(events, "check") {
        let (event, check) = event?;
        let patient = event.patient.and_then(|patient| patients.get_mut(&patient));
        if let Some(patient) = patient {
            patient.effective = Some(check.effective);
        }
    }
    Ok(patients.into_values().collect())
}

/// Refuses a patient whom the notice does not reach.
pub(super) async fn check_patient(
    writing: &mut Writing<'_>,
    root: Uuid,
    patient: Uuid,
) -> Result<(), Refused<WorkRefusal>> {
    let facility = writing.facility.id;
    let asked = Asked::Patient(patient);
    let (matches, _) = matching::find(writing.connection, facility, root, asked).await?;
    if matches.items.is_empty() {
        return Err(Refused::Because(WorkRefusal::NoSuchPatient));
    }
    Ok(())
}
