//! Accounting for disclosures of patients' information.

use super::events::{self, About, Recorded};
use super::{FirmAnswer, WorkRefusal, show_work};
use crate::database::{Reading, StoreError};
use crate::facilities::Facility;
use crate::ledger::open_disclosure;
use crate::recorder::{Commitments, Operation, Refused, Writing};
use crate::schema::{disclosures, notice_events, notices, patients};
use crate::sealing::{Key, PATIENT_KEY};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff::tz::TimeZone;
use lotwarden_domain::access::act;
use serde::{Deserialize, Serialize};
use std::collections::HashMap;
use uuid::Uuid;

/// What of a patient was disclosed, with the content that 45 CFR 164.528(b)(2) asks of an
/// accounting (from memory): the date, who received it with the address if known, a brief
/// description, and the purpose.
///
/// The receiver may be a private person, so that entry and row have commitments alone; the values
/// are sealed under the patient's key.
#[derive(Clone, Debug)]
pub struct Disclosure {
    /// The receiver's address.
    pub address: Option<String>,
    /// The day.
    pub disclosed_on: Date,
    /// Why; none once it was erased.
    pub purpose: Option<String>,
    /// Who received it; none once it was erased.
    pub to: Option<String>,
    /// What, briefly, and never the identity itself; none once it was erased.
    pub what: Option<String>,
}

/// What of a disclosure stands in its row and entry in clear.
#[derive(Serialize, Deserialize)]
struct Said {
    disclosed_on: Date,
}

/// Puts on record that information of a patient was disclosed for a notice.
#[derive(Clone, Debug)]
pub struct RecordDisclosure {
    /// The facility's key.
    pub facility_key: Key,
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
        let wrapped_key: Vec<u8> = patients::table
            .find(self.patient)
            .select(patients::wrapped_key)
            .first(writing.connection)
            .await?;
        let key = self.facility_key.unwrap(PATIENT_KEY, &wrapped_key)?;
        let about = About::Patient(self.patient);
        let kinds = ("record_disclosure", "disclosure");
        let (said, commitments) = self.disclosure.committed();
        let recorded = events::commit(writing, root, kinds, about, (&said, &commitments)).await?;
        let receipt = writing.last_receipt().ok_or(StoreError::Unfit)?;
        let patient = (self.patient, &key);
        writing.disclose(patient, receipt, &commitments).await?;
        Ok(recorded)
    }
}

impl Disclosure {
    fn committed(&self) -> (Said, Commitments) {
        let mut commitments = Commitments::default();
        for (name, value) in [
            ("address", &self.address),
            ("purpose", &self.purpose),
            ("to", &self.to),
            ("what", &self.what),
        ] {
            if let Some(value) = value {
                commitments.commit(name, value);
            }
        }
        let disclosed_on = self.disclosed_on;
        (Said { disclosed_on }, commitments)
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
    i64,
);

const COLUMNS: (
    notice_events::id,
    notice_events::notice_id,
    notice_events::kind,
    notice_events::patient_id,
    notice_events::body,
    notice_events::actor,
    notice_events::at,
    notice_events::position,
) = (
    notice_events::id,
    notice_events::notice_id,
    notice_events::kind,
    notice_events::patient_id,
    notice_events::body,
    notice_events::actor,
    notice_events::at,
    notice_events::position,
);

/// The disclosures of a patient for all notices; none when there is no such patient.
///
/// # Errors
/// [`StoreError`].
pub async fn of_patient(
    reading: &mut Reading,
    patient: Uuid,
    (facility, key): (&Facility, &Key),
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
    accounted(reading, rows, (facility, key)).await.map(Some)
}

/// The disclosures for a notice, and its answers to the firm; none when there is no such notice.
///
/// # Errors
/// [`StoreError`].
pub async fn of_notice(
    reading: &mut Reading,
    notice: Uuid,
    (facility, key): (&Facility, &Key),
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
    accounted(reading, rows, (facility, key)).await.map(Some)
}

/// Opens what is behind the rows' commitments.
async fn accounted(
    reading: &mut Reading,
    rows: Vec<Row>,
    (facility, key): (&Facility, &Key),
) -> Result<Vec<Accounted>, StoreError> {
    let positions: Vec<i64> = rows.iter().map(|row| row.7).collect();
    let sealed: Vec<(i64, Vec<u8>, Vec<u8>)> = disclosures::table
        .inner_join(patients::table.on(patients::id.eq(disclosures::patient_id)))
        .filter(disclosures::facility_id.eq(facility.id))
        .filter(disclosures::position.eq_any(positions))
        .select((
            disclosures::position,
            disclosures::sealed,
            patients::wrapped_key,
        ))
        .load(reading.connection())
        .await?;
    let mut opened: HashMap<i64, HashMap<String, String>> = HashMap::new();
    for (position, sealed, wrapped_key) in sealed {
        let key = key.unwrap(PATIENT_KEY, &wrapped_key)?;
        let value = open_disclosure(&key, &sealed)?;
        let values = opened.entry(position).or_default();
        values.insert(value.name, value.value);
    }
    let lines = rows.into_iter().map(|row| {
        let values = opened.remove(&row.7).unwrap_or_default();
        Accounted::of(row, values, &facility.zone)
    });
    lines.collect()
}

impl Accounted {
    fn of(
        row: Row,
        mut values: HashMap<String, String>,
        zone: &TimeZone,
    ) -> Result<Self, StoreError> {
        let (id, notice, kind, patient, body, by, at, _) = row;
        let at = at.to_jiff();
        let disclosure = if kind == "answer" {
            let answer: FirmAnswer = serde_json::from_value(body).map_err(|_| StoreError::Unfit)?;
            Disclosure {
                address: None,
                disclosed_on: at.to_zoned(zone.clone()).date(),
                purpose: Some(format!("Answer to recall notice {}", answer.reference)),
                to: Some(answer.firm),
                what: Some("Numbers by lot and of patients; no patient's information".to_owned()),
            }
        } else {
            let said: Said = serde_json::from_value(body).map_err(|_| StoreError::Unfit)?;
            Disclosure {
                address: values.remove("address"),
                disclosed_on: said.disclosed_on,
                purpose: values.remove("purpose"),
                to: values.remove("to"),
                what: values.remove("what"),
            }
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
