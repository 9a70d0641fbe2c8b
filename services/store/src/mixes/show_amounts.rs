//! Showing the amounts a patient got, beside the patient's weight.

use super::Mix;
use super::rows::of_case;
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cases, mixes, patients, people};
use crate::sealing::{Key, PATIENT_KEY, WEIGHT};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::access::act;
use lotwarden_domain::mixes::Amount;
use rust_decimal::Decimal;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// Sums what was given of the mixes of a case and opens the weight of the newest order; each look
/// is a ledger entry, because the weight is the patient's.
#[derive(Clone, Debug)]
pub struct ShowAmounts {
    /// The facility's key.
    pub facility_key: Key,
    /// The case.
    pub case: Uuid,
}

/// Amounts given on a case.
#[derive(Clone, Debug)]
pub struct AmountsShown {
    /// By substance.
    pub amounts: BTreeMap<String, Amount>,
    /// The weight of the newest order; none without an order.
    pub weight: Option<Weight>,
    /// Drugs in given mixes whose strength nobody named.
    pub without_strength: usize,
}

/// A weight with who entered it and when.
#[derive(Clone, Debug)]
pub struct Weight {
    /// Kilograms.
    pub kilogram: Decimal,
    /// The printed name of who signed the order.
    pub entered_by: String,
    /// When.
    pub entered_at: Timestamp,
}

/// Why amounts are not shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowAmountsRefusal {
    /// There is no such case.
    #[error("there is no such case")]
    NoSuchCase,
}

#[derive(Serialize)]
struct Data {
    mixes: usize,
    patient: Uuid,
}

impl Operation for ShowAmounts {
    type Permission = act::ShowAmounts;
    type Outcome = AmountsShown;
    type Refusal = ShowAmountsRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<AmountsShown, Refused<ShowAmountsRefusal>> {
        let patient: Option<(Uuid, Vec<u8>)> = cases::table
            .inner_join(patients::table.on(patients::id.eq(cases::patient_id)))
            .filter(cases::id.eq(self.case))
            .select((patients::id, patients::wrapped_key))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((patient, wrapped_key)) = patient else {
            return Err(Refused::Because(ShowAmountsRefusal::NoSuchCase));
        };
        let mixes = of_case(writing.connection, self.case).await?;
        let (amounts, without_strength) = sums(&mixes);
        let key = self.facility_key.unwrap(PATIENT_KEY, &wrapped_key)?;
        let weight = newest_weight(writing.connection, &key, self.case).await?;
        let data = Data {
            mixes: mixes.len(),
            patient,
        };
        let subject = Subject::of_case("case", self.case, self.case);
        writing.append("show_amounts", subject, &data)?;
        Ok(AmountsShown {
            amounts,
            weight,
            without_strength,
        })
    }
}

/// What was given of mixes, by substance, and how many drugs in them have no strength named.
#[must_use]
pub fn sums(mixes: &[Mix]) -> (BTreeMap<String, Amount>, usize) {
    let mut amounts = BTreeMap::<String, Amount>::new();
    for (substance, amount) in mixes.iter().flat_map(Mix::given) {
        let sum = amounts.entry(substance).or_default();
        *sum = sum.plus(amount);
    }
    let given = mixes.iter().filter(|mix| mix.given_ml() > Decimal::ZERO);
    let without = given.flat_map(|mix| &mix.ingredients);
    let without = without.filter(|each| each.is_drug && each.strengths.is_empty());
    (amounts, without.count())
}

/// The weight of the newest order on a case, opened with its patient's key.
pub(crate) async fn newest_weight(
    connection: &mut AsyncPgConnection,
    key: &Key,
    case: Uuid,
) -> Result<Option<Weight>, StoreError> {
    let newest: Option<(Vec<u8>, String, jiff_diesel::Timestamp)> = mixes::table
        .inner_join(people::table.on(people::id.eq(mixes::ordered_by)))
        .filter(mixes::case_id.eq(case))
        .order(mixes::id.desc())
        .select((mixes::sealed_weight, people::name, mixes::ordered_at))
        .first(connection)
        .await
        .optional()?;
    let Some((sealed, entered_by, entered_at)) = newest else {
        return Ok(None);
    };
    let plain = key.open(WEIGHT, &sealed)?;
    let text = std::str::from_utf8(&plain).map_err(|_| StoreError::Unfit)?;
    Ok(Some(Weight {
        kilogram: text.parse().map_err(|_| StoreError::Unfit)?,
        entered_by,
        entered_at: entered_at.to_jiff(),
    }))
}
