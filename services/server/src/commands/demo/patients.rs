//! The patients of the demonstration: nobody.

use jiff::civil::Date;
use lotwarden_store::cases::Patient;

const GIVEN: [&str; 9] = [
    "Ada", "Bruno", "Clio", "Dario", "Enid", "Felix", "Gwen", "Hugo", "Ines",
];
const FAMILY: [&str; 4] = ["Sample", "Specimen", "Placeholder", "Fictive"];

/// The patient of the case with this number; 36 of them, so that some come twice.
pub fn of(case: usize) -> Patient {
    let number = case % (GIVEN.len() * FAMILY.len());
    let month = 1 + i8::try_from(number % 12).unwrap_or_default();
    let year = 1950 + i16::try_from(number).unwrap_or_default();
    Patient {
        born_on: Date::new(year, month, 15).ok(),
        name: format!(
            "{} {}",
            GIVEN[number % GIVEN.len()],
            FAMILY[number / GIVEN.len()]
        ),
        record_number: format!("DEMO-{:04}", number + 1),
    }
}
