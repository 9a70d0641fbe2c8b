//! Signing a case.

use super::record::{self, CURRENT};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{people, signatures};
use diesel::dsl::exists;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_domain::cases::CaseStatus;
use lotwarden_ledger::Hash;
use serde::Serialize;
use uuid::Uuid;

/// Signs the record of a completed case as it stands. The caller proved the signer's secret again
/// just before (21 CFR 11.200).
#[derive(Clone, Debug)]
pub struct SignCase {
    /// The case.
    pub case: Uuid,
    /// The version the signer read.
    pub version: i32,
    /// What signing means: 1 to 200 characters.
    pub meaning: String,
}

/// A signature with what it binds (21 CFR 11.50, 11.70).
#[derive(Clone, Debug)]
pub struct Signed {
    /// The signature.
    pub id: Uuid,
    /// The case.
    pub case: Uuid,
    /// The version of the case, which signing leaves as it is.
    pub version: i32,
    /// The signer.
    pub person: Uuid,
    /// The signer's printed name.
    pub name: String,
    /// What signing meant.
    pub meaning: String,
    /// The SHA-256 of the record.
    pub record_hash: Hash,
    /// The form of the record whose hash it is.
    pub record_version: i16,
    /// When.
    pub signed_at: Timestamp,
}

/// Why a case is not signed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SignCaseRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
    /// It changed since the signer read it.
    #[error("the case changed since it was read")]
    Stale,
    /// It is not completed.
    #[error("a case that is {0} cannot be signed; only a completed one can")]
    NotCompleted(CaseStatus),
    /// The person signed it with this meaning before.
    #[error("the case carries this signature already")]
    SignedAlready,
    /// Nobody is signed in who could sign.
    #[error("only a person can sign")]
    NotAPerson,
}

#[derive(Serialize)]
struct Data<'a> {
    meaning: &'a str,
    name: &'a str,
    record_hash: Hash,
    record_version: i16,
    signature: String,
    version: i32,
}

impl Operation for SignCase {
    type Permission = act::SignCase;
    type Outcome = Signed;
    type Refusal = SignCaseRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Signed, Refused<SignCaseRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let Actor::Person(person) = *writing.actor else {
            return refuse(SignCaseRefusal::NotAPerson);
        };
        let Some(recorded) = record::of_case(writing.connection, self.case).await? else {
            return refuse(SignCaseRefusal::NoSuchCase);
        };
        if recorded.case.version != self.version {
            return refuse(SignCaseRefusal::Stale);
        }
        if recorded.case.status != CaseStatus::Completed {
            return refuse(SignCaseRefusal::NotCompleted(recorded.case.status));
        }
        let same = signatures::table
            .filter(signatures::case_id.eq(self.case))
            .filter(signatures::person_id.eq(person))
            .filter(signatures::meaning.eq(&self.meaning));
        if diesel::select(exists(same))
            .get_result(writing.connection)
            .await?
        {
            return refuse(SignCaseRefusal::SignedAlready);
        }
        let name: String = people::table
            .find(person)
            .select(people::name)
            .first(writing.connection)
            .await?;
        let signed = Signed {
            id: writing.new_id(),
            case: self.case,
            version: recorded.case.version,
            person,
            name,
            meaning: self.meaning.clone(),
            record_hash: recorded.current_hash()?,
            record_version: CURRENT,
            signed_at: writing.at,
        };
        self.keep(writing, &signed).await?;
        Ok(signed)
    }
}

impl SignCase {
    async fn keep(
        &self,
        writing: &mut Writing<'_>,
        signed: &Signed,
    ) -> Result<(), Refused<SignCaseRefusal>> {
        let data = Data {
            meaning: &signed.meaning,
            name: &signed.name,
            record_hash: signed.record_hash,
            record_version: signed.record_version,
            signature: signed.id.to_string(),
            version: signed.version,
        };
        let subject = Subject::of_case("case", self.case, self.case);
        let receipt = writing.append("sign_case", subject, &data)?;
        diesel::insert_into(signatures::table)
            .values((
                signatures::facility_id.eq(writing.facility.id),
                signatures::id.eq(signed.id),
                signatures::case_id.eq(self.case),
                signatures::person_id.eq(signed.person),
                signatures::name.eq(&signed.name),
                signatures::meaning.eq(&signed.meaning),
                signatures::record_hash.eq(signed.record_hash.as_bytes().as_slice()),
                signatures::signed_at.eq(signed.signed_at.to_diesel()),
                signatures::position.eq(receipt.position.cast_signed()),
                signatures::record_version.eq(signed.record_version),
            ))
            .execute(writing.connection)
            .await?;
        Ok(())
    }
}
