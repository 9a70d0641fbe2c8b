//! Giving up a case.

use super::Case;
use super::change_status::{ChangeStatusRefusal, Step, take};
use crate::recorder::{Operation, Refused, Writing};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::CaseStatus;
use uuid::Uuid;

/// The procedure does not take place.
#[derive(Clone, Debug)]
pub struct CancelCase {
    /// The case.
    pub case: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// Why: 3 to 500 characters, never a patient's identity.
    pub reason: String,
}

impl Operation for CancelCase {
    type Permission = act::CancelCase;
    type Outcome = Case;
    type Refusal = ChangeStatusRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Case, Refused<ChangeStatusRefusal>> {
        let step = Step {
            action: "cancel_case",
            case: self.case,
            version: self.version,
            to: CaseStatus::NotDone,
            reason: Some(&self.reason),
        };
        take(step, writing).await
    }
}
