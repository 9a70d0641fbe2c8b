//! Giving a document that shows who the patient is.

use super::{CaseFile, file_of};
use crate::cases::{Patient, open_patient};
use crate::mixes::{Weight, newest_weight};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::patients;
use crate::sealing::Key;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::Permission;
use lotwarden_ledger::Hash;
use serde::Serialize;
use std::marker::PhantomData;
use uuid::Uuid;

/// Gives what a document of a case shows, identity included; each time is a ledger entry.
#[derive(Debug)]
pub struct ShowDocument<P> {
    facility_key: Key,
    case: Uuid,
    permission: PhantomData<fn() -> P>,
}

impl<P> ShowDocument<P> {
    /// The document that the permission is for.
    #[must_use]
    pub const fn new(facility_key: Key, case: Uuid) -> Self {
        Self {
            facility_key,
            case,
            permission: PhantomData,
        }
    }
}

/// A case with who the patient is.
#[derive(Clone, Debug)]
pub struct Identified {
    /// The case.
    pub file: CaseFile,
    /// The patient, by id.
    pub patient: (Uuid, Patient),
    /// The weight of the newest order; none without an order.
    pub weight: Option<Weight>,
}

/// Why a document is not given.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowDocumentRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
}

#[derive(Serialize)]
struct Data {
    patient: Uuid,
    record_hash: Hash,
}

impl<P: Permission> Operation for ShowDocument<P> {
    type Permission = P;
    type Outcome = Identified;
    type Refusal = ShowDocumentRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Identified, Refused<ShowDocumentRefusal>> {
        let file = file_of(writing.connection, writing.facility, self.case).await?;
        let Some(file) = file else {
            return Err(Refused::Because(ShowDocumentRefusal::NoSuchCase));
        };
        let patient = file.recorded.case.patient;
        let (wrapped_key, sealed): (Vec<u8>, Vec<u8>) = patients::table
            .find(patient)
            .select((patients::wrapped_key, patients::sealed))
            .first(writing.connection)
            .await?;
        let (identity, key) = open_patient(&self.facility_key, &wrapped_key, &sealed)?;
        let weight = newest_weight(writing.connection, &key, self.case).await?;
        let data = Data {
            patient,
            record_hash: file.record_hash,
        };
        let subject = Subject::of_case("case", self.case, self.case);
        writing.append(P::ACTION.as_str(), subject, &data)?;
        Ok(Identified {
            file,
            patient: (patient, identity),
            weight,
        })
    }
}
