//! The amendments of a case as their rows say.

use super::record::{Part, Recorded};
use crate::database::StoreError;
use crate::moment::instant_text;
use crate::schema::amendments;
use diesel::prelude::*;
use diesel_async::{AsyncPgConnection, RunQueryDsl};
use jiff::Timestamp;
use lotwarden_domain::cases::RecordPart;
use lotwarden_ledger::{Hash, canonical};
use serde::{Serialize, Serializer};
use uuid::Uuid;

/// A correction of a signed case, itself signed.
#[derive(Clone, Debug)]
pub struct Amendment {
    /// What was signed.
    pub correction: Correction,
    /// The SHA-256 of it as canonical JSON (RFC 8785).
    pub hash: Hash,
    /// The position of its ledger entry.
    pub position: u64,
    /// Whether it still has the hash that was signed.
    pub unchanged: bool,
}

/// What the signature of an amendment is over (21 CFR 11.50, 11.70).
#[derive(Clone, Debug, Serialize)]
pub struct Correction {
    /// The amendment.
    pub amendment: Uuid,
    /// The case.
    pub case: Uuid,
    /// Which value; none for an addition.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<String>,
    /// What signing meant.
    pub meaning: String,
    /// The signer's printed name.
    pub name: String,
    /// What is to stand.
    pub new_value: String,
    /// What stood before; none where nothing was recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub old_value: Option<String>,
    /// What of the record it concerns.
    pub part: RecordPart,
    /// Which; the case for the record as a whole.
    pub part_id: Uuid,
    /// The signer.
    pub person: Uuid,
    /// Why.
    pub reason: String,
    /// The hash of the signed record that is amended.
    pub record_hash: Hash,
    /// When.
    #[serde(serialize_with = "as_text")]
    pub signed_at: Timestamp,
}

fn as_text<S: Serializer>(at: &Timestamp, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&instant_text(*at))
}

impl Correction {
    pub(super) fn hash(&self) -> Result<Hash, StoreError> {
        let text = canonical::to_string(self).map_err(|_| StoreError::Unfit)?;
        Ok(Hash::of(text.as_bytes()))
    }
}

#[derive(Queryable, Selectable)]
#[diesel(table_name = amendments)]
struct Row {
    id: Uuid,
    case_id: Uuid,
    part: String,
    part_id: Uuid,
    field: Option<String>,
    old_value: Option<String>,
    new_value: String,
    reason: String,
    record_hash: Vec<u8>,
    person_id: Uuid,
    name: String,
    meaning: String,
    amendment_hash: Vec<u8>,
    #[diesel(deserialize_as = jiff_diesel::Timestamp)]
    signed_at: Timestamp,
    position: i64,
}

/// The amendments of a case, oldest first.
pub(crate) async fn of_case(
    connection: &mut AsyncPgConnection,
    case: Uuid,
) -> Result<Vec<Amendment>, StoreError> {
    of_cases(connection, &[case]).await
}

/// The amendments of cases, oldest first.
pub(crate) async fn of_cases(
    connection: &mut AsyncPgConnection,
    cases: &[Uuid],
) -> Result<Vec<Amendment>, StoreError> {
    let rows: Vec<Row> = amendments::table
        .filter(amendments::case_id.eq_any(cases))
        .order(amendments::id)
        .select(Row::as_select())
        .load(connection)
        .await?;
    rows.into_iter().map(Amendment::try_from).collect()
}

impl TryFrom<Row> for Amendment {
    type Error = StoreError;

    fn try_from(row: Row) -> Result<Self, StoreError> {
        let hash = |bytes: &[u8]| Hash::from_slice(bytes).ok_or(StoreError::Unfit);
        let signed = hash(&row.amendment_hash)?;
        let correction = Correction {
            amendment: row.id,
            case: row.case_id,
            field: row.field,
            meaning: row.meaning,
            name: row.name,
            new_value: row.new_value,
            old_value: row.old_value,
            part: row.part.parse().map_err(|_| StoreError::Unfit)?,
            part_id: row.part_id,
            person: row.person_id,
            reason: row.reason,
            record_hash: hash(&row.record_hash)?,
            signed_at: row.signed_at,
        };
        Ok(Self {
            unchanged: correction.hash()? == signed,
            correction,
            hash: signed,
            position: row.position.cast_unsigned(),
        })
    }
}

/// The parts of a record with the newest amendment of each value in its place. Additions stand
/// beside them.
pub(crate) fn parts(recorded: &Recorded, amendments: &[Amendment]) -> Vec<Part> {
    let mut parts = recorded.parts();
    for correction in amendments.iter().map(|amendment| &amendment.correction) {
        let of = |part: &&mut Part| part.kind == correction.part && part.id == correction.part_id;
        let Some(part) = parts.iter_mut().find(of) else {
            continue;
        };
        let named = |field: &str| correction.field.as_deref() == Some(field);
        if let Some(value) = part.values.iter_mut().find(|value| named(value.field)) {
            value.value = Some(correction.new_value.clone());
            value.amended = true;
        }
    }
    parts
}
