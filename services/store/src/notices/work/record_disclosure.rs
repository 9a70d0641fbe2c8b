//! Accounting for disclosures of patients' information.

use super::events::{self, About, Recorded};
use super::{FirmAnswer, WorkRefusal, show_work};
use crate::database::{Reading, StoreError};
use crate::recorder::{Operation, Refused, Writing};
use crate::schema::{notice_events, notices, patients};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lotwarden_domain::access::act;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What of a patient was disclosed, with the content that 45 CFR 164.528(b)(2) asks of an
/// accounting (from memory): the date, who received it with the address if known, a brief
/// description, and the purpose.
#[derive(Clone, Debug, Serialize, Deserialize)]
pub struct Disclosure {
    /// The receiver's address.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub address: Option<String>,
    /// The day.
    pub disclosed_on: Date,
    /// Why.
    pub purpose: String,
    /// Who received it.
    pub to: String,
    /// What, briefly; never the identity itself.
    pub what: String,
}

/// Puts on record that information of a patient was disclosed for a notice.
#[derive(Clone, Debug)]
pub struct RecordDisclosure {
    /// The notice.
    pub notice: Uuid,
    /// The patient, by id.
    pub patient: Uuid,
    /// What was disclosed.
    pub disclosure: Disclosure,
}

impl Operation for RecordDisclosure {
    type Permission = act::RecordDisclosure;
    type Outcome = Recorded;
    type Refusal = WorkRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Recorded, Refused<WorkRefusal>> {
        let root = events::root(writing, self.notice).await?;
        if self.disclosure.disclosed_on > writing.facility.day(writing.at) {
            return Err(Refused::Because(WorkRefusal::InFuture));
        }
        show_work::check_patient(writing, root, self.patient).await?;
        let about = About::Patient(self.patient);
        let kinds = ("record_disclosure", "disclosure");
        Ok(events::record(writing, root, kinds, about, &self.disclosure).await?)
    }
}

/// A line of an accounting.
#[derive(Clone, Debug)]
pub struct Accounted {
    /// The event.
    pub id: Uuid,
    /// The first notice of the matter.
    pub notice: Uuid,
    /// The patient, by id; none for an answer to the firm, which names no patient.
    pub patient: Option<Uuid>,
    /// What was disclosed.
    pub disclosure: Disclosure,
    /// Who put it on record, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

type Row = (
    Uuid,
    Uuid,
    String,
    Option<Uuid>,
    serde_json::Value,
    String,
    jiff_diesel::Timestamp,
);

const COLUMNS: (
    notice_events::id,
    notice_events::notice_id,
    notice_events::kind,
    notice_events::patient_id,
    notice_events::body,
    notice_events::actor,
    notice_events::at,
) = (
    notice_events::id,
    notice_events::notice_id,
    notice_events::kind,
    notice_events::patient_id,
    notice_events::body,
    notice_events::actor,
    notice_events::at,
);

/// The disclosures of a patient for all notices; none when there is no such patient.
///
/// # Errors
/// [`StoreError`].
pub async fn of_patient(
    reading: &mut Reading,
    patient: Uuid,
    zone: &TimeZone,
) -> Result<Option<Vec<Accounted>>, StoreError> {
    let known = diesel::select(exists(patients::table.find(patient)));
    if !known.get_result(reading.connection()).await? {
        return Ok(None);
    }
    let rows: Vec<Row> = notice_events::table
        .filter(notice_events::patient_id.eq(patient))
        .filter(notice_events::kind.eq("disclosure"))
        .order(notice_events::id)
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    let lines = rows.into_iter().map(|row| Accounted::of(row, zone));
    Ok(Some(lines.collect::<Result<_, _>>()?))
}

/// The disclosures for a notice, and its answers to the firm; none when there is no such notice.
///
/// # Errors
/// [`StoreError`].
pub async fn of_notice(
    reading: &mut Reading,
    notice: Uuid,
    zone: &TimeZone,
) -> Result<Option<Vec<Accounted>>, StoreError> {
    let root: Option<Uuid> = notices::table
        .find(notice)
        .select(notices::root_id)
        .first(reading.connection())
        .await
        .optional()?;
    let Some(root) = root else {
        return Ok(None);
    };
    let rows: Vec<Row> = notice_events::table
        .filter(notice_events::notice_id.eq(root))
        .filter(notice_events::kind.eq_any(["disclosure", "answer"]))
        .order(notice_events::id)
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    let lines = rows.into_iter().map(|row| Accounted::of(row, zone));
    Ok(Some(lines.collect::<Result<_, _>>()?))
}

impl Accounted {
    fn of(row: Row, zone: &TimeZone) -> Result<Self, StoreError> {
        let (id, notice, kind, patient, body, by, at) = row;
        let at = at.to_jiff();
        let disclosure = if kind == "answer" {
            let answer: FirmAnswer = serde_json::from_value(body).map_err(|_| StoreError::Unfit)?;
            Disclosure {
                address: None,
                disclosed_on: at.to_zoned(zone.clone()).date(),
                purpose: format!("Answer to recall notice {}", answer.reference),
                to: answer.firm,
                what: "Numbers by lot and of patients; no patient's information".to_owned(),
            }
        } else {
            serde_json::from_value(body).map_err(|_| StoreError::Unfit)?
        };
        Ok(Self {
            id,
            notice,
            patient,
            disclosure,
            by,
            at,
        })
    }
}
