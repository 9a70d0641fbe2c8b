//! Why nothing can be added to the record of a case.

use crate::problem::{ApiError, catalogue, sentence};
use lotwarden_store::cases::NotOpen;

impl From<NotOpen> for ApiError {
    fn from(reason: NotOpen) -> Self {
        match reason {
            NotOpen::NoSuchCase => ApiError::no_such("case"),
            NotOpen::NotDone => {
                ApiError::new(&catalogue::CASE_CLOSED).detail(sentence(&reason.to_string()))
            }
            NotOpen::Signed => ApiError::new(&catalogue::CASE_SIGNED),
        }
    }
}
