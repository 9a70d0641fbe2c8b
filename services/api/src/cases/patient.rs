//! A patient in a body that opens a case, and in the answers that show one.

use crate::http::body::Fields;
use jiff::civil::Date;
use lotwarden_store::cases as store;
use serde::{Deserialize, Serialize};
use std::fmt;
use utoipa::ToSchema;

/// Who a patient is, as a body says it. `Debug` shows nothing of it.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PatientBody {
    /// The site's record number.
    #[schema(example = "MRN-004217", min_length = 1, max_length = 64)]
    record_number: String,
    /// The name.
    #[schema(example = "Example, Robin", min_length = 1, max_length = 200)]
    name: String,
    /// The day of birth.
    #[schema(value_type = Option<String>, format = Date, example = "1984-02-29")]
    born_on: Option<Date>,
}

/// Who a patient is, as an answer shows it. `Debug` shows nothing of it.
#[derive(Serialize, ToSchema)]
pub struct Patient {
    /// The site's record number.
    #[schema(example = "MRN-004217")]
    record_number: String,
    /// The name.
    #[schema(example = "Example, Robin")]
    name: String,
    /// The day of birth.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date, example = "1984-02-29")]
    born_on: Option<Date>,
}

impl fmt::Debug for Patient {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Patient(..)")
    }
}

impl fmt::Debug for PatientBody {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("PatientBody(..)")
    }
}

impl PatientBody {
    pub(super) fn check(&self, errors: &mut Fields) {
        errors.text("/patient/record_number", &self.record_number, 1, 64);
        errors.text("/patient/name", &self.name, 1, 200);
    }

    pub(super) fn into_store(self) -> store::Patient {
        store::Patient {
            born_on: self.born_on,
            name: self.name,
            record_number: self.record_number.trim().to_owned(),
        }
    }
}

impl From<&store::Patient> for Patient {
    fn from(patient: &store::Patient) -> Self {
        Self {
            record_number: patient.record_number.clone(),
            name: patient.name.clone(),
            born_on: patient.born_on,
        }
    }
}
