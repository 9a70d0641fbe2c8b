//! Sterilizers.

use crate::database::{Reading, StoreError, violates};
use crate::lists::{After, Page};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::sterilizers;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::Timestamp;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::loads::PositivePolicy;
use serde::Serialize;
use uuid::Uuid;

/// A sterilizer of the site.
#[derive(Clone, Debug)]
pub struct Sterilizer {
    /// The sterilizer.
    pub id: Uuid,
    /// Its name.
    pub name: String,
    /// What the site does after a positive biological indicator.
    pub positive_policy: PositivePolicy,
    /// Since when it is out of service.
    pub out_of_service_since: Option<Timestamp>,
    /// Counts the changes; the entity tag.
    pub version: i32,
}

/// Adds a sterilizer with the policy that somebody chose for it.
#[derive(Clone, Debug, Serialize)]
pub struct AddSterilizer {
    /// Its name: 1 to 100 characters.
    pub name: String,
    /// What the site does after a positive biological indicator; an explicit choice.
    pub positive_policy: PositivePolicy,
}

/// Why a sterilizer is not added.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum AddSterilizerRefusal {
    /// There is one of this name.
    #[error("there is a sterilizer of this name already")]
    NameTaken,
}

impl Operation for AddSterilizer {
    type Permission = act::AddSterilizer;
    type Outcome = Sterilizer;
    type Refusal = AddSterilizerRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Sterilizer, Refused<AddSterilizerRefusal>> {
        let id = writing.new_id();
        diesel::insert_into(sterilizers::table)
            .values((
                sterilizers::facility_id.eq(writing.facility.id),
                sterilizers::id.eq(id),
                sterilizers::name.eq(&self.name),
                sterilizers::positive_policy.eq(self.positive_policy.as_str()),
                sterilizers::created_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await
            .map_err(|error| match violates(&error, "sterilizers_name_once") {
                true => Refused::Because(AddSterilizerRefusal::NameTaken),
                false => error.into(),
            })?;
        writing.append("add_sterilizer", Subject::new("sterilizer", id), self)?;
        Ok(Sterilizer {
            id,
            name: self.name.clone(),
            positive_policy: self.positive_policy,
            out_of_service_since: None,
            version: 1,
        })
    }
}

type Row = (Uuid, String, String, jiff_diesel::NullableTimestamp, i32);

const COLUMNS: (
    sterilizers::id,
    sterilizers::name,
    sterilizers::positive_policy,
    sterilizers::out_of_service_since,
    sterilizers::version,
) = (
    sterilizers::id,
    sterilizers::name,
    sterilizers::positive_policy,
    sterilizers::out_of_service_since,
    sterilizers::version,
);

fn sterilizer((id, name, policy, since, version): Row) -> Result<Sterilizer, StoreError> {
    Ok(Sterilizer {
        id,
        name,
        positive_policy: policy.parse().map_err(|_| StoreError::Unfit)?,
        out_of_service_since: since.to_jiff(),
        version,
    })
}

/// Reads one; none when there is no such sterilizer.
pub(super) async fn find(
    writing: &mut Writing<'_>,
    id: Uuid,
) -> Result<Option<Sterilizer>, StoreError> {
    let row: Option<Row> = sterilizers::table
        .find(id)
        .select(COLUMNS)
        .first(writing.connection)
        .await
        .optional()?;
    row.map(sterilizer).transpose()
}

/// Lists sterilizers in the order they were added.
///
/// # Errors
/// [`StoreError`].
pub async fn list_sterilizers(
    reading: &mut Reading,
    after: After,
) -> Result<Page<Sterilizer>, StoreError> {
    let rows: Vec<Row> = sterilizers::table
        .filter(sterilizers::id.gt(after.start()))
        .order(sterilizers::id)
        .limit(after.fetch())
        .select(COLUMNS)
        .load(reading.connection())
        .await?;
    let items = rows.into_iter().map(sterilizer).collect::<Result<_, _>>()?;
    Ok(Page::of(items, after, |each: &Sterilizer| each.id))
}
