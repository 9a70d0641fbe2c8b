//! Recording the cleaning of a reusable piece.

use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{cleanings, units};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Records that a reusable piece was cleaned: its lumen flushed, brushed and inspected or not. The
/// entry's data.
#[derive(Clone, Debug, Serialize)]
pub struct RecordCleaning {
    /// The brush: 1 to 100 characters.
    pub brush: String,
    /// Whether the lumen was flushed.
    pub flushed: bool,
    /// Whether the piece was inspected.
    pub inspected: bool,
    /// A remark.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remark: Option<String>,
    /// The piece.
    pub unit: Uuid,
}

/// Why cleaning is not recorded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum RecordCleaningRefusal {
    /// There is no such piece.
    #[error("there is no such piece")]
    NoSuchUnit,
}

impl Operation for RecordCleaning {
    type Permission = act::RecordCleaning;
    type Outcome = Uuid;
    type Refusal = RecordCleaningRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<Uuid, Refused<RecordCleaningRefusal>> {
        let unit: Option<Uuid> = units::table
            .find(self.unit)
            .select(units::id)
            .first(writing.connection)
            .await
            .optional()?;
        if unit.is_none() {
            return Err(Refused::Because(RecordCleaningRefusal::NoSuchUnit));
        }
        let id = writing.new_id();
        diesel::insert_into(cleanings::table)
            .values((
                cleanings::facility_id.eq(writing.facility.id),
                cleanings::id.eq(id),
                cleanings::unit_id.eq(self.unit),
                cleanings::flushed.eq(self.flushed),
                cleanings::brush.eq(&self.brush),
                cleanings::inspected.eq(self.inspected),
                cleanings::remark.eq(&self.remark),
                cleanings::actor.eq(writing.actor.to_string()),
                cleanings::at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        writing.append("record_cleaning", Subject::new("cleaning", id), self)?;
        Ok(id)
    }
}
