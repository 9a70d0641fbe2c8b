//! The cases of days, as a surgical log has them.

use crate::cases::{Amendment, Case, amendments_of_cases, cases_between};
use crate::database::{Reading, StoreError};
use crate::mixes::{of_cases, sums};
use crate::schema::signatures;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use lotwarden_domain::mixes::Amount;
use std::collections::BTreeMap;
use uuid::Uuid;

/// The most cases of one log.
pub const MOST_SURGERIES: usize = 2000;

/// A case of a surgical log, without the patient's identity.
#[derive(Clone, Debug)]
pub struct Surgery {
    /// The case.
    pub case: Case,
    /// What was given of mixes, by substance.
    pub amounts: BTreeMap<String, Amount>,
    /// Drugs in given mixes whose strength nobody named.
    pub without_strength: usize,
    /// Whether somebody signed it.
    pub signed: bool,
    /// Its amendments, oldest first.
    pub amendments: Vec<Amendment>,
}

/// Lists the cases that started, or were planned and did not start, from one instant until before
/// another, in the order of time; none when there are more than [`MOST_SURGERIES`].
///
/// # Errors
/// [`StoreError`].
pub async fn list_surgeries(
    reading: &mut Reading,
    from: Timestamp,
    before: Timestamp,
) -> Result<Option<Vec<Surgery>>, StoreError> {
    let connection = reading.connection();
    let cases = cases_between(connection, from, before, MOST_SURGERIES + 1).await?;
    if cases.len() > MOST_SURGERIES {
        return Ok(None);
    }
    let ids: Vec<Uuid> = cases.iter().map(|case| case.id).collect();
    let mixes = of_cases(connection, &ids).await?;
    let amendments = amendments_of_cases(connection, &ids).await?;
    let signed: Vec<Uuid> = signatures::table
        .filter(signatures::case_id.eq_any(&ids))
        .select(signatures::case_id)
        .load(connection)
        .await?;
    let surgery = |case: Case| {
        let own: Vec<_> = mixes
            .iter()
            .filter(|mix| mix.case == case.id)
            .cloned()
            .collect();
        let (amounts, without_strength) = sums(&own);
        let of_case = |each: &&Amendment| each.correction.case == case.id;
        Surgery {
            amounts,
            without_strength,
            signed: signed.contains(&case.id),
            amendments: amendments.iter().filter(of_case).cloned().collect(),
            case,
        }
    };
    Ok(Some(cases.into_iter().map(surgery).collect()))
}
