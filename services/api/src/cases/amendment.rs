//! An amendment in the words of the API.

use lotwarden_domain::cases::RecordPart;
use lotwarden_store::cases as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A correction of a signed case, itself signed (21 CFR 11.10(e), 11.50).
#[derive(Debug, Serialize, ToSchema)]
pub struct Amendment {
    /// The amendment.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// What of the record it concerns.
    #[schema(value_type = String, example = "energy")]
    part: RecordPart,
    /// Which; the case for the record as a whole.
    part_id: Uuid,
    /// Which value of the part; none for an addition.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "passes")]
    field: Option<String>,
    /// What stood before; none where nothing was recorded.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "6")]
    old_value: Option<String>,
    /// What is to stand.
    #[schema(example = "8")]
    new_value: String,
    /// Why.
    reason: String,
    /// The signer.
    person_id: Uuid,
    /// The signer's printed name.
    name: String,
    /// What signing meant.
    meaning: String,
    /// When.
    #[schema(format = DateTime)]
    signed_at: String,
    /// The hash of the signed record that is amended.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
    /// The SHA-256 of the amendment: of `data.correction` in its ledger entry.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    amendment_hash: String,
    /// The position of its ledger entry.
    position: u64,
    /// Whether it still has the hash that was signed.
    unchanged: bool,
}

impl From<&store::Amendment> for Amendment {
    fn from(amendment: &store::Amendment) -> Self {
        let correction = amendment.correction.clone();
        Self {
            id: correction.amendment,
            case_id: correction.case,
            part: correction.part,
            part_id: correction.part_id,
            field: correction.field,
            old_value: correction.old_value,
            new_value: correction.new_value,
            reason: correction.reason,
            person_id: correction.person,
            name: correction.name,
            meaning: correction.meaning,
            signed_at: instant_text(correction.signed_at),
            record_hash: correction.record_hash.to_string(),
            amendment_hash: amendment.hash.to_string(),
            position: amendment.position,
            unchanged: amendment.unchanged,
        }
    }
}
