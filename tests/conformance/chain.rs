//! A facility's entries as stored, checked by the published rule alone.

use crate::harness::Service;
use sha2::{Digest, Sha256};
use uuid::Uuid;

/// Every entry must have its position, the hash of the one before it, and as its own hash
/// SHA-256(0x00 || body), which is the leaf hash of RFC 9162, 2.1.1; the head is the last one.
pub async fn holds(service: &Service, facility: Uuid) {
    let mut previous = hex(&Sha256::digest(b"lotwarden ledger format 1 genesis"));
    let entries = service.entries(facility).await;
    for (position, (hash, body)) in entries.iter().enumerate() {
        let entry: serde_json::Value = serde_json::from_str(body).expect("an entry is JSON");
        assert_eq!(entry["position"], position);
        assert_eq!(
            entry["previous"], previous,
            "entry {position} does not follow"
        );
        previous = hex(&Sha256::new()
            .chain_update([0])
            .chain_update(body)
            .finalize());
        assert_eq!(*hash, previous, "entry {position} has another hash");
    }
    let head = format!(
        "SELECT size || ' ' || encode(hash, 'hex') FROM ledger_heads WHERE facility_id = '{facility}'"
    );
    let head = service.site.database.column(&head).await;
    assert_eq!(head, [format!("{} {previous}", entries.len())]);
}

pub fn hex(bytes: &[u8]) -> String {
    bytes.iter().map(|byte| format!("{byte:02x}")).collect()
}
