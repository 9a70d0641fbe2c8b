//! Completing a case.

use super::Case;
use super::change_status::{ChangeStatusRefusal, Step, take};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CaseStatus;
use uuid::Uuid;

/// The procedure ended.
#[derive(Clone, Debug)]
pub struct CompleteCase {
    /// The case.
    pub case: Uuid,
    /// The version the caller saw.
    pub version: i32,
}

impl Operation for CompleteCase {
    type Permission = act::CompleteCase;
    type Outcome = Case;
    type Refusal = ChangeStatusRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Case, Refused<ChangeStatusRefusal>> {
        let step = Step {
            action: "complete_case",
            case: self.case,
            version: self.version,
            to: CaseStatus::Completed,
            reason: None,
        };
        take(step, writing).await
    }
}
