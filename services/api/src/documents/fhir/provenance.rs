//! Who signed the record and who amended it, with the hashes that the signatures are over.

use super::{reference, url};
use lotwarden_ledger::Hash;
use lotwarden_store::cases::{Amendment, Signature};
use lotwarden_store::documents::CaseFile;
use lotwarden_store::moment::instant_text;
use serde_json::{Value, json};
use uuid::Uuid;

pub(super) fn of_record(file: &CaseFile) -> Vec<(Uuid, Value)> {
    let case = file.recorded.case.id;
    let signed = file
        .signatures
        .iter()
        .map(|signature| (signature.id, signed(case, signature)));
    let amended = file.amendments.iter();
    let amended = amended.map(|amendment| (amendment.correction.amendment, corrected(amendment)));
    signed.chain(amended).collect()
}

/// SHA-256 by its object identifier (NIST, 2.16.840.1.101.3.4.2.1).
fn hashed(hash: Hash, says: String) -> Value {
    json!({
        "identifier": {"system": "urn:oid:2.16.840.1.101.3.4.2.1", "value": hash.to_string()},
        "display": says,
    })
}

/// A verification signature (ASTM E1762, as FHIR R4 lists its codes; from memory).
fn signature(person: Uuid, at: &str) -> Value {
    json!([{
        "type": [{"system": "urn:iso-astm:E1762-95:2013", "code": "1.2.840.10065.1.12.1.5"}],
        "when": at,
        "who": reference(person),
    }])
}

fn signed(case: Uuid, signed: &Signature) -> Value {
    let at = instant_text(signed.signed_at);
    let record = format!(
        "SHA-256 of the whole record; ledger entry {}",
        signed.position
    );
    json!({
        "resourceType": "Provenance",
        "target": [{"reference": url(case)}],
        "recorded": at,
        "reason": [{"text": signed.meaning}],
        "agent": [{"who": reference(signed.person)}],
        "entity": [{"role": "source", "what": hashed(signed.record_hash, record)}],
        "signature": signature(signed.person, &at),
    })
}

fn corrected(amendment: &Amendment) -> Value {
    let correction = &amendment.correction;
    let at = instant_text(correction.signed_at);
    let field = correction.field.as_deref().unwrap_or("addition");
    let old = correction.old_value.as_deref().unwrap_or("not recorded");
    let says = format!(
        "{} {} {field}: {old} -> {}; ledger entry {}",
        correction.part, correction.part_id, correction.new_value, amendment.position
    );
    json!({
        "resourceType": "Provenance",
        "target": [{"reference": url(correction.case)}],
        "recorded": at,
        "reason": [{"text": correction.reason}, {"text": correction.meaning}],
        "activity": {"coding": [{
            "system": "http://terminology.hl7.org/CodeSystem/v3-DataOperation", "code": "UPDATE",
        }]},
        "agent": [{"who": reference(correction.person)}],
        "entity": [{"role": "revision", "what": hashed(amendment.hash, says)}],
        "signature": signature(correction.person, &at),
    })
}
