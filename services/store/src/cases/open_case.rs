//! Opening a case.

use super::patient::{Found, find_or_add};
use super::{Case, Patient, find};
use crate::database::StoreError;
use crate::moment::instant_text;
use crate::recorder::{Commitments, Operation, Refused, Subject, Writing};
use crate::schema::{cases, locations, people};
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Role, act};
use lotwarden_domain::cases::CaseStatus;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Opens a case for a patient, who is put on file when the record number is new.
#[derive(Clone, Debug)]
pub struct OpenCase {
    /// The facility's key, which the patient's own key is sealed under.
    pub facility_key: Key,
    /// The patient.
    pub patient: Patient,
    /// What is done: 1 to 200 characters, never a patient's identity.
    pub procedure: String,
    /// The room.
    pub location: Uuid,
    /// The practitioner.
    pub practitioner: Uuid,
    /// When it is planned.
    pub scheduled_for: Timestamp,
}

/// Why a case is not opened.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum OpenCaseRefusal {
    /// There is no such place.
    #[error("there is no such location")]
    NoSuchLocation,
    /// Nobody of that id holds the role, or the account has ended.
    #[error("there is no such practitioner")]
    NoSuchPractitioner,
    /// The record number is on file for somebody else; taking it would join two people.
    #[error(
        "this record number is on file under another name or day of birth; compare it with the wristband"
    )]
    RecordNumberDiffers,
}

#[derive(Serialize)]
struct Data<'a> {
    commitments: BTreeMap<&'a str, String>,
    location: Uuid,
    new_patient: bool,
    patient: Uuid,
    practitioner: Uuid,
    procedure: &'a str,
    scheduled_for: String,
}

impl Operation for OpenCase {
    type Permission = act::OpenCase;
    type Outcome = Case;
    type Refusal = OpenCaseRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Case, Refused<OpenCaseRefusal>> {
        self.check(writing).await?;
        let found = find_or_add(
            writing.connection,
            writing.facility.id,
            &self.facility_key,
            &self.patient,
            writing.at,
        );
        let (patient, key, new_patient) = match found.await? {
            Found::Known(patient, key) => (patient, key, false),
            Found::New(patient, key) => (patient, key, true),
            Found::Differs => return Err(Refused::Because(OpenCaseRefusal::RecordNumberDiffers)),
        };
        let id = writing.new_id();
        diesel::insert_into(cases::table)
            .values((
                cases::facility_id.eq(writing.facility.id),
                cases::id.eq(id),
                cases::patient_id.eq(patient),
                cases::procedure_name.eq(&self.procedure),
                cases::location_id.eq(self.location),
                cases::practitioner_id.eq(self.practitioner),
                cases::scheduled_for.eq(self.scheduled_for.to_diesel()),
                cases::status.eq(CaseStatus::Preparation.as_str()),
                cases::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let mut commitments = Commitments::default();
        commitments.commit("record_number", &self.patient.record_number);
        commitments.commit("name", &self.patient.name);
        if let Some(born_on) = self.patient.born_on {
            commitments.commit("born_on", &born_on.to_string());
        }
        let data = Data {
            commitments: commitments.digests(),
            location: self.location,
            new_patient,
            patient,
            practitioner: self.practitioner,
            procedure: &self.procedure,
            scheduled_for: instant_text(self.scheduled_for),
        };
        let receipt = writing.append("open_case", Subject::of_case("case", id, id), &data)?;
        writing
            .disclose((patient, &key), receipt, &commitments)
            .await?;
        let case = find(writing.connection, id).await?;
        Ok(case.ok_or(StoreError::Unfit)?)
    }
}

impl OpenCase {
    async fn check(&self, writing: &mut Writing<'_>) -> Result<(), Refused<OpenCaseRefusal>> {
        let location: Option<Uuid> = locations::table
            .find(self.location)
            .select(locations::id)
            .first(writing.connection)
            .await
            .optional()?;
        if location.is_none() {
            return Err(Refused::Because(OpenCaseRefusal::NoSuchLocation));
        }
        let person: Option<(Vec<String>, jiff_diesel::NullableTimestamp)> = people::table
            .find(self.practitioner)
            .select((people::roles, people::ends_at))
            .first(writing.connection)
            .await
            .optional()?;
        let may = person.is_some_and(|(roles, ends_at)| {
            let holds = roles.iter().any(|role| role == Role::Practitioner.as_str());
            holds && ends_at.to_jiff().is_none_or(|end| end > writing.at)
        });
        if may {
            Ok(())
        } else {
            Err(Refused::Because(OpenCaseRefusal::NoSuchPractitioner))
        }
    }
}
