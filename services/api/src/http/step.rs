//! Who did a step of a record, in answers.

use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// Who did a step, and when.
#[derive(Debug, Serialize, ToSchema)]
pub struct Step {
    /// The person.
    person_id: Uuid,
    /// The printed name.
    name: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
}

impl From<&lotwarden_store::Step> for Step {
    fn from(step: &lotwarden_store::Step) -> Self {
        Self {
            person_id: step.person,
            name: step.name.clone(),
            at: instant_text(step.at),
        }
    }
}
