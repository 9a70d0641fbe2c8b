//! Ordering a mix.

use super::Mix;
use super::rows::{Asked, of};
use crate::cases::{NotOpen, add_to};
use crate::database::StoreError;
use crate::recorder::{Commitments, Operation, Refused, Subject, Writing};
use crate::schema::{mixes, patients};
use crate::sealing::{Key, PATIENT_KEY, WEIGHT};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::{Actor, act};
use lotwarden_ledger::{Hash, canonical};
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Signs the order of a mix for the patient of a case. The caller proved the signer's secret again
/// just before (21 CFR 11.200).
#[derive(Clone, Debug)]
pub struct OrderMix {
    /// The facility's key, which the patient's own key is sealed under.
    pub facility_key: Key,
    /// The case.
    pub case: Uuid,
    /// What the team calls it: 1 to 100 characters.
    pub name: String,
    /// The order in words: 1 to 1000 characters, never a patient's identity.
    pub written_order: String,
    /// The patient's weight.
    pub weight_kg: Decimal,
    /// Minutes from the start of preparation within which it is used.
    pub use_within_minutes: u16,
    /// Where the site has that time from: 3 to 200 characters.
    pub use_by_source: String,
}

/// Why a mix is not ordered.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum OrderMixRefusal {
    /// The case takes no further record.
    #[error(transparent)]
    Case(#[from] NotOpen),
    /// Nobody is signed in who could sign.
    #[error("only a person can sign an order")]
    NotAPerson,
}

/// What the orderer signs. The weight stands as its salted commitment, so that it cannot be guessed
/// from the hash.
#[derive(Serialize)]
struct Order<'a> {
    case: Uuid,
    mix: Uuid,
    name: &'a str,
    orderer: Uuid,
    use_by_source: &'a str,
    use_within_minutes: u16,
    weight: BTreeMap<&'a str, String>,
    written_order: &'a str,
}

#[derive(Serialize)]
struct Data<'a> {
    commitments: BTreeMap<&'a str, String>,
    name: &'a str,
    order_hash: Hash,
    use_by_source: &'a str,
    use_within_minutes: u16,
    written_order: &'a str,
}

impl Operation for OrderMix {
    type Permission = act::OrderMix;
    type Outcome = Mix;
    type Refusal = OrderMixRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Mix, Refused<OrderMixRefusal>> {
        let Actor::Person(person) = *writing.actor else {
            return Err(Refused::Because(OrderMixRefusal::NotAPerson));
        };
        let case = add_to::<OrderMixRefusal>(writing, self.case).await?;
        let wrapped_key: Vec<u8> = patients::table
            .find(case.patient)
            .select(patients::wrapped_key)
            .first(writing.connection)
            .await?;
        let key = self.facility_key.unwrap(PATIENT_KEY, &wrapped_key)?;
        let id = writing.new_id();
        let mut commitments = Commitments::default();
        commitments.commit("weight_kg", &self.weight_kg.to_string());
        let order = Order {
            case: self.case,
            mix: id,
            name: &self.name,
            orderer: person,
            use_by_source: &self.use_by_source,
            use_within_minutes: self.use_within_minutes,
            weight: commitments.digests(),
            written_order: &self.written_order,
        };
        let order = canonical::to_string(&order).map_err(|_| StoreError::Unfit)?;
        let order_hash = Hash::of(order.as_bytes());
        let sealed = key.seal(WEIGHT, self.weight_kg.to_string().as_bytes())?;
        self.keep(writing, (id, person), order_hash, sealed).await?;
        let data = Data {
            commitments: commitments.digests(),
            name: &self.name,
            order_hash,
            use_by_source: &self.use_by_source,
            use_within_minutes: self.use_within_minutes,
            written_order: &self.written_order,
        };
        let subject = Subject::of_case("mix", id, self.case);
        let receipt = writing.append("order_mix", subject, &data)?;
        writing
            .disclose((case.patient, &key), receipt, &commitments)
            .await?;
        let mix = of(writing.connection, Asked::One(id)).await?.pop();
        Ok(mix.ok_or(StoreError::Unfit)?)
    }
}

impl OrderMix {
    async fn keep(
        &self,
        writing: &mut Writing<'_>,
        (id, person): (Uuid, Uuid),
        hash: Hash,
        sealed: Vec<u8>,
    ) -> Result<(), StoreError> {
        diesel::insert_into(mixes::table)
            .values((
                mixes::facility_id.eq(writing.facility.id),
                mixes::id.eq(id),
                mixes::case_id.eq(self.case),
                mixes::name.eq(&self.name),
                mixes::written_order.eq(&self.written_order),
                mixes::order_hash.eq(hash.as_bytes().as_slice()),
                mixes::sealed_weight.eq(sealed),
                mixes::use_within_minutes.eq(i32::from(self.use_within_minutes)),
                mixes::use_by_source.eq(&self.use_by_source),
                mixes::ordered_by.eq(person),
                mixes::ordered_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        Ok(())
    }
}
