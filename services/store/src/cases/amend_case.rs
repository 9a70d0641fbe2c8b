//! Amending a signed case.

use super::amendments::{self, Amendment, Correction};
use super::record;
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{amendments as rows, people, signatures};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::cases::RecordPart;
use lotwarden_ledger::Hash;
use serde::Serialize;
use uuid::Uuid;

/// Corrects a signed case, which stays as it was signed (21 CFR 11.10(e)). The caller proved the
/// signer's secret again just before (11.200).
#[derive(Clone, Debug)]
pub struct AmendCase {
    /// The case.
    pub case: Uuid,
    /// What of the record it concerns.
    pub part: RecordPart,
    /// Which; none for the record as a whole.
    pub part_id: Option<Uuid>,
    /// Which value; none for an addition.
    pub field: Option<String>,
    /// What stands, as the signer read it; none where nothing is recorded.
    pub old_value: Option<String>,
    /// What is to stand: 1 to 1000 characters, never a patient's identity.
    pub new_value: String,
    /// Why: 3 to 500 characters.
    pub reason: String,
    /// What signing means: 1 to 200 characters.
    pub meaning: String,
}

/// Why a case is not amended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AmendCaseRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// Nobody signed it.
    #[error("the case is not signed; change the record itself")]
    NotSigned,
    /// The record has no such part.
    #[error("the record has no such part")]
    NoSuchPart,
    /// The part has no such value.
    #[error("the part has no such value")]
    NoSuchField,
    /// Something else stands than what the signer read.
    #[error("is not what stands; read the record again")]
    OldDiffers,
    /// It stands already.
    #[error("stands already")]
    SameAgain,
    /// Nobody is signed in who could sign.
    #[error("only a person can sign")]
    NotAPerson,
}

#[derive(Serialize)]
struct Data<'a> {
    amendment_hash: Hash,
    correction: &'a Correction,
}

impl Operation for AmendCase {
    type Permission = act::AmendCase;
    type Outcome = Amendment;
    type Refusal = AmendCaseRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Amendment, Refused<AmendCaseRefusal>> {
        let Actor::Person(person) = *writing.actor else {
            return Err(Refused::Because(AmendCaseRefusal::NotAPerson));
        };
        let (part_id, record_hash) = self.check(writing).await?;
        let name: String = people::table
            .find(person)
            .select(people::name)
            .first(writing.connection)
            .await?;
        let correction = Correction {
            amendment: writing.new_id(),
            case: self.case,
            field: self.field.clone(),
            meaning: self.meaning.clone(),
            name,
            new_value: self.new_value.clone(),
            old_value: self.old_value.clone(),
            part: self.part,
            part_id,
            person,
            reason: self.reason.clone(),
            record_hash,
            signed_at: writing.at,
        };
        let data = Data {
            amendment_hash: correction.hash()?,
            correction: &correction,
        };
        let subject = Subject::of_case("amendment", correction.amendment, self.case);
        let receipt = writing.append("amend_case", subject, &data)?;
        let amendment = Amendment {
            hash: data.amendment_hash,
            correction,
            position: receipt.position,
            unchanged: true,
        };
        keep(writing, &amendment).await?;
        Ok(amendment)
    }
}

impl AmendCase {
    /// The part that is amended and the signed record it is of.
    async fn check(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<(Uuid, Hash), Refused<AmendCaseRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Some(recorded) = record::of_case(writing.connection, self.case).await? else {
            return refuse(AmendCaseRefusal::NoSuchCase);
        };
        let signed: Option<Vec<u8>> = signatures::table
            .filter(signatures::case_id.eq(self.case))
            .order(signatures::id.desc())
            .select(signatures::record_hash)
            .first(writing.connection)
            .await
            .optional()?;
        let Some(signed) = signed else {
            return refuse(AmendCaseRefusal::NotSigned);
        };
        let signed = Hash::from_slice(&signed).ok_or(StoreError::Unfit)?;
        let amended = amendments::of_case(writing.connection, self.case).await?;
        let parts = amendments::parts(&recorded, &amended);
        let part_id = self.part_id.unwrap_or(self.case);
        let part = parts
            .iter()
            .find(|part| part.kind == self.part && part.id == part_id);
        let Some(part) = part else {
            return refuse(AmendCaseRefusal::NoSuchPart);
        };
        let Some(field) = &self.field else {
            return match self.old_value {
                Some(_) => refuse(AmendCaseRefusal::OldDiffers),
                None => Ok((part_id, signed)),
            };
        };
        let Some(stands) = part.values.iter().find(|value| value.field == field) else {
            return refuse(AmendCaseRefusal::NoSuchField);
        };
        if stands.value != self.old_value {
            return refuse(AmendCaseRefusal::OldDiffers);
        }
        if stands.value.as_ref() == Some(&self.new_value) {
            return refuse(AmendCaseRefusal::SameAgain);
        }
        Ok((part_id, signed))
    }
}

async fn keep(writing: &mut Writing<'_>, amendment: &Amendment) -> Result<(), StoreError> {
    let correction = &amendment.correction;
    diesel::insert_into(rows::table)
        .values((
            rows::facility_id.eq(writing.facility.id),
            rows::id.eq(correction.amendment),
            rows::case_id.eq(correction.case),
            rows::part.eq(correction.part.as_str()),
            rows::part_id.eq(correction.part_id),
            rows::field.eq(&correction.field),
            rows::old_value.eq(&correction.old_value),
            rows::new_value.eq(&correction.new_value),
            rows::reason.eq(&correction.reason),
            rows::record_hash.eq(correction.record_hash.as_bytes().as_slice()),
            rows::person_id.eq(correction.person),
            rows::name.eq(&correction.name),
            rows::meaning.eq(&correction.meaning),
            rows::amendment_hash.eq(amendment.hash.as_bytes().as_slice()),
            rows::signed_at.eq(correction.signed_at.to_diesel()),
            rows::position.eq(amendment.position.cast_signed()),
        ))
        .execute(writing.connection)
        .await?;
    Ok(())
}
