//! Showing the patient of a case.

use super::patient::{self, Patient};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cases, patients};
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Opens the identity of a case's patient; each look is a ledger entry.
#[derive(Clone, Debug)]
pub struct ShowPatient {
    /// The facility's key.
    pub facility_key: Key,
    /// The case.
    pub case: Uuid,
}

/// Why a patient is not shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowPatientRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
}

#[derive(Serialize)]
struct Data {
    patient: Uuid,
}

impl Operation for ShowPatient {
    type Permission = act::ShowPatient;
    type Outcome = (Uuid, Patient);
    type Refusal = ShowPatientRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(Uuid, Patient), Refused<ShowPatientRefusal>> {
        let row: Option<(Uuid, Vec<u8>, Vec<u8>)> = cases::table
            .inner_join(patients::table.on(patients::id.eq(cases::patient_id)))
            .filter(cases::id.eq(self.case))
            .select((patients::id, patients::wrapped_key, patients::sealed))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((id, wrapped_key, sealed)) = row else {
            return Err(Refused::Because(ShowPatientRefusal::NoSuchCase));
        };
        let (identity, _) = patient::open(&self.facility_key, &wrapped_key, &sealed)?;
        let subject = Subject::of_case("case", self.case, self.case);
        writing.append("show_patient", subject, &Data { patient: id })?;
        Ok((id, identity))
    }
}
