//! The file of an adverse event.

use super::decide_status::in_force;
use crate::database::{Reading, StoreError};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{adverse_events, cases, scans};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::deadlines::{Event, FacilityStatus};
use serde::Serialize;
use uuid::Uuid;

/// An adverse event on a case; the entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct NewEvent {
    /// The day medical personnel of the facility became aware of it (21 CFR 803.3(b)(1)).
    pub aware_on: Date,
    /// The case.
    pub case: Uuid,
    /// Why it is, or is not, reported (21 CFR 803.18(b)); never a patient's identity.
    pub deliberation: String,
    /// The scan of the device.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub device: Option<Uuid>,
    /// The code of the device's problem (Form 3500A, block F10).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub device_problem_code: Option<String>,
    /// What happened.
    pub event: Event,
    /// The day it happened.
    pub happened_on: Date,
    /// The manufacturer, when it is known.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub manufacturer: Option<String>,
    /// The code of the patient's problem (Form 3500A, block F10).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub patient_problem_code: Option<String>,
}

/// Opens the file of an adverse event.
#[derive(Clone, Debug)]
pub struct OpenEvent {
    /// The event.
    pub new: NewEvent,
}

/// The file of an event.
#[derive(Clone, Debug)]
pub struct AdverseEvent {
    /// The file.
    pub id: Uuid,
    /// The event.
    pub new: NewEvent,
    /// What the facility was decided to be when it was opened.
    pub status: Option<FacilityStatus>,
    /// Who opened it, as the ledger writes it.
    pub by: String,
    /// When.
    pub at: Timestamp,
}

/// Why a file is not opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum OpenEventRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// The case has no such scan.
    #[error("the case has no such scan")]
    NoSuchScan,
    /// It lies in the future.
    #[error("must not be in the future")]
    InFuture,
}

impl Operation for OpenEvent {
    type Permission = act::OpenEvent;
    type Outcome = AdverseEvent;
    type Refusal = OpenEventRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<AdverseEvent, Refused<OpenEventRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let new = &self.new;
        let case = diesel::select(exists(cases::table.find(new.case)));
        if !case.get_result(writing.connection).await? {
            return refuse(OpenEventRefusal::NoSuchCase);
        }
        if new.aware_on > writing.facility.day(writing.at) {
            return refuse(OpenEventRefusal::InFuture);
        }
        if let Some(scan) = new.device {
            let scan = diesel::select(exists(scans::table.find((new.case, scan))));
            if !scan.get_result(writing.connection).await? {
                return refuse(OpenEventRefusal::NoSuchScan);
            }
        }
        let file = AdverseEvent {
            id: writing.new_id(),
            new: new.clone(),
            status: in_force(writing.connection).await?,
            by: writing.actor.to_string(),
            at: writing.at,
        };
        diesel::insert_into(adverse_events::table)
            .values((
                adverse_events::facility_id.eq(writing.facility.id),
                adverse_events::id.eq(file.id),
                adverse_events::case_id.eq(new.case),
                adverse_events::event.eq(new.event.as_str()),
                adverse_events::happened_on.eq(new.happened_on.to_diesel()),
                adverse_events::aware_on.eq(new.aware_on.to_diesel()),
                adverse_events::device_scan_id.eq(new.device),
                adverse_events::manufacturer.eq(&new.manufacturer),
                adverse_events::patient_problem_code.eq(&new.patient_problem_code),
                adverse_events::device_problem_code.eq(&new.device_problem_code),
                adverse_events::deliberation.eq(&new.deliberation),
                adverse_events::status.eq(file.status.map(FacilityStatus::as_str)),
                adverse_events::actor.eq(&file.by),
                adverse_events::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let subject = Subject::of_case("event", file.id, new.case);
        writing.append("open_event", subject, new)?;
        Ok(file)
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = adverse_events)]
struct Row {
    id: Uuid,
    case_id: Uuid,
    event: String,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    happened_on: Date,
    #[diesel(deserialize_as = jiff_diesel::Date)]
    aware_on: Date,
    device_scan_id: Option<Uuid>,
    manufacturer: Option<String>,
    patient_problem_code: Option<String>,
    device_problem_code: Option<String>,
    deliberation: String,
    status: Option<String>,
    actor: String,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    at: Timestamp,
}

impl TryFrom<Row> for AdverseEvent {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let status = row.status.map(|status| status.parse()).transpose();
        Ok(Self {
            id: row.id,
            new: NewEvent {
                aware_on: row.aware_on,
                case: row.case_id,
                deliberation: row.deliberation,
                device: row.device_scan_id,
                device_problem_code: row.device_problem_code,
                event: row.event.parse().map_err(|_| StoreError::Unfit)?,
                happened_on: row.happened_on,
                manufacturer: row.manufacturer,
                patient_problem_code: row.patient_problem_code,
            },
            status: status.map_err(|_| StoreError::Unfit)?,
            by: row.actor,
            at: row.at,
        })
    }
}

/// Lists event files in the order they were opened.
///
/// # Errors
/// [`StoreError`].
pub async fn list_events(
    reading: &mut Reading,
    after: After,
) -> Result<Page<AdverseEvent>, StoreError> {
    let rows: Vec<Row> = adverse_events::table
        .filter(adverse_events::id.gt(after.start()))
        .order(adverse_events::id)
        .limit(after.fetch())
        .select(Row::as_select())
        .load(reading.connection())
        .await?;
    let items = rows
        .into_iter()
        .map(AdverseEvent::try_from)
        .collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |file: &AdverseEvent| file.id))
}
