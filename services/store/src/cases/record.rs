//! The record of a case: what a signature is over.
//!
//! Canonical JSON (RFC 8785) of the case and every scan with its verdict, use and strike. It is
//! made anew from the rows each time, so that its SHA-256 shows whether anything changed since it
//! was signed (21 CFR 11.70). Characters stand as their SHA-256; those of unread scans, which may
//! be somebody's identity, are bound by the commitment in the entry at the scan's position.

use super::list_scans::{self, ScanItem};
use super::{Case, find};
use crate::database::StoreError;
use crate::moment::instant_text;
use diesel_async::AsyncPgConnection;
use lotwarden_domain::cases::{CaseStatus, Disposition, Verdict};
use lotwarden_ledger::{Hash, canonical};
use serde::Serialize;
use uuid::Uuid;

#[derive(Serialize)]
struct Record<'a> {
    case: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_at: Option<String>,
    location: Uuid,
    opened_at: String,
    patient: Uuid,
    practitioner: Uuid,
    procedure: &'a str,
    scans: Vec<ScanPart<'a>>,
    scheduled_for: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    started_at: Option<String>,
    status: CaseStatus,
    v: u8,
    version: i32,
}

#[derive(Serialize)]
struct ScanPart<'a> {
    actor: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    disposition: Option<Disposition>,
    #[serde(skip_serializing_if = "Option::is_none")]
    disposition_reason: Option<&'a str>,
    findings: Vec<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_scan: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<Uuid>,
    occurred_at: String,
    position: u64,
    #[serde(skip_serializing_if = "Option::is_none")]
    product: Option<Uuid>,
    received_at: String,
    scan: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    station: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    strike: Option<StrikePart<'a>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    symbology: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text_hash: Option<Hash>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    verdict: Verdict,
}

#[derive(Serialize)]
struct StrikePart<'a> {
    actor: &'a str,
    at: String,
    reason: &'a str,
}

/// The case, its scans, and the SHA-256 of its record as it stands.
pub(super) struct Recorded {
    pub(super) case: Case,
    pub(super) scans: Vec<ScanItem>,
    pub(super) hash: Hash,
}

/// Reads a case and makes its record; none when there is no such case.
pub(super) async fn of_case(
    connection: &mut AsyncPgConnection,
    id: Uuid,
) -> Result<Option<Recorded>, StoreError> {
    let Some(case) = find(connection, id).await? else {
        return Ok(None);
    };
    let scans = list_scans::all(connection, id).await?;
    let record = render(&case, &scans)?;
    let hash = Hash::of(record.as_bytes());
    Ok(Some(Recorded { case, scans, hash }))
}

fn render(case: &Case, scans: &[ScanItem]) -> Result<String, StoreError> {
    let record = Record {
        case: case.id,
        ended_at: case.ended_at.map(instant_text),
        location: case.location.0,
        opened_at: instant_text(case.opened_at),
        patient: case.patient,
        practitioner: case.practitioner.0,
        procedure: &case.procedure,
        scans: scans.iter().map(ScanPart::of).collect(),
        scheduled_for: instant_text(case.scheduled_for),
        started_at: case.started_at.map(instant_text),
        status: case.status,
        v: 1,
        version: case.version,
    };
    canonical::to_string(&record).map_err(|_| StoreError::Unfit)
}

impl<'a> ScanPart<'a> {
    fn of(scan: &'a ScanItem) -> Self {
        let slugs = scan.findings.as_array().into_iter().flatten();
        let on_case = scan.on_case.as_ref();
        Self {
            actor: &scan.actor,
            disposition: on_case.map(|piece| piece.disposition),
            disposition_reason: on_case.and_then(|piece| piece.reason.as_deref()),
            findings: slugs
                .filter_map(|finding| finding["slug"].as_str())
                .collect(),
            first_scan: scan.first_scan,
            lot: scan.lot.as_ref().map(|(id, ..)| *id),
            occurred_at: instant_text(scan.occurred_at),
            position: scan.position,
            product: scan.product.as_ref().map(|(id, _)| *id),
            received_at: instant_text(scan.received_at),
            scan: scan.id,
            station: scan.station,
            strike: scan.strike.as_ref().map(|strike| StrikePart {
                actor: &strike.by,
                at: instant_text(strike.at),
                reason: &strike.reason,
            }),
            symbology: scan.symbology.as_deref(),
            text_hash: scan.text.as_ref().map(|text| Hash::of(text.as_bytes())),
            unit: scan.unit.as_ref().map(|(id, _)| *id),
            verdict: scan.verdict,
        }
    }
}
