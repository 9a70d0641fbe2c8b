//! Patients: sealed under a key each, found by a keyed hash of the record number.

use crate::database::StoreError;
use crate::moment::new_id;
use crate::schema::patients;
use crate::sealing::{IDENTITY, Key, PATIENT_KEY};
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt;
use uuid::Uuid;

/// Who a patient is. `Debug` shows nothing of it.
#[derive(Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Patient {
    /// The day of birth.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub born_on: Option<Date>,
    /// The name.
    pub name: String,
    /// The site's record number.
    pub record_number: String,
}

impl fmt::Debug for Patient {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Patient(..)")
    }
}

impl Patient {
    /// Whether the two may be one person: the same name but for case and white space, and no two
    /// different days of birth.
    fn agrees_with(&self, other: &Self) -> bool {
        let days = self.born_on.zip(other.born_on);
        folded(&self.name) == folded(&other.name) && days.is_none_or(|(one, two)| one == two)
    }
}

fn folded(name: &str) -> String {
    let words: Vec<String> = name.split_whitespace().map(str::to_lowercase).collect();
    words.join(" ")
}

/// Whose record number it is.
pub(super) enum Found {
    /// The patient was on file already.
    Known(Uuid, Key),
    /// The patient was put on file now.
    New(Uuid, Key),
    /// The record number is on file under another name or day of birth.
    Differs,
}

/// Finds a patient by record number, or puts a new one on file.
pub(super) async fn find_or_add(
    connection: &mut AsyncPgConnection,
    facility: Uuid,
    facility_key: &Key,
    patient: &Patient,
    at: Timestamp,
) -> Result<Found, StoreError> {
    let lookup = facility_key.lookup(patient.record_number.as_bytes())?;
    let row: Option<(Uuid, Vec<u8>, Vec<u8>)> = patients::table
        .filter(patients::facility_id.eq(facility))
        .filter(patients::lookup.eq(lookup.as_slice()))
        .select((patients::id, patients::wrapped_key, patients::sealed))
        .first(connection)
        .await
        .optional()?;
    if let Some((id, wrapped_key, sealed)) = row {
        let (on_file, key) = open(facility_key, &wrapped_key, &sealed)?;
        return Ok(if patient.agrees_with(&on_file) {
            Found::Known(id, key)
        } else {
            Found::Differs
        });
    }
    let id = new_id(at);
    let (key, wrapped_key) = facility_key.wrap_new(PATIENT_KEY)?;
    let plain = serde_json::to_vec(patient).map_err(|_| StoreError::Unfit)?;
    diesel::insert_into(patients::table)
        .values((
            patients::facility_id.eq(facility),
            patients::id.eq(id),
            patients::lookup.eq(lookup.as_slice()),
            patients::wrapped_key.eq(wrapped_key),
            patients::sealed.eq(key.seal(IDENTITY, &plain)?),
            patients::created_at.eq(at.to_diesel()),
        ))
        .execute(connection)
        .await?;
    Ok(Found::New(id, key))
}

/// Opens a patient's identity and key.
pub(crate) fn open(
    facility_key: &Key,
    wrapped_key: &[u8],
    sealed: &[u8],
) -> Result<(Patient, Key), StoreError> {
    let key = facility_key.unwrap(PATIENT_KEY, wrapped_key)?;
    let plain = key.open(IDENTITY, sealed)?;
    let patient = serde_json::from_slice(&plain).map_err(|_| StoreError::Unfit)?;
    Ok((patient, key))
}

/// The identities of patients, by id.
pub(crate) async fn by_id(
    connection: &mut AsyncPgConnection,
    facility_key: &Key,
    ids: BTreeSet<Uuid>,
) -> Result<BTreeMap<Uuid, Patient>, StoreError> {
    let rows: Vec<(Uuid, Vec<u8>, Vec<u8>)> = patients::table
        .filter(patients::id.eq_any(ids))
        .select((patients::id, patients::wrapped_key, patients::sealed))
        .load(connection)
        .await?;
    let opened = |(id, wrapped_key, sealed): (Uuid, Vec<u8>, Vec<u8>)| {
        let (patient, _) = open(facility_key, &wrapped_key, &sealed)?;
        Ok((id, patient))
    };
    rows.into_iter().map(opened).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use jiff::civil::date;

    fn patient(name: &str, born_on: Option<Date>) -> Patient {
        Patient {
            born_on,
            name: name.to_owned(),
            record_number: "1".to_owned(),
        }
    }

    #[test]
    fn a_name_agrees_but_for_case_and_white_space() {
        let on_file = patient("Ada  Example", Some(date(1980, 2, 29)));
        assert!(patient("ada example ", None).agrees_with(&on_file));
        assert!(!patient("Ada Sample", None).agrees_with(&on_file));
        assert!(!patient("Ada Example", Some(date(1980, 2, 28))).agrees_with(&on_file));
    }

    #[test]
    fn debug_shows_nothing_of_a_patient() {
        assert_eq!(format!("{:?}", patient("Ada", None)), "Patient(..)");
    }
}
