//! The record of a case as canonical JSON: what a signature is over.
//!
//! It is made anew from the rows each time, so that its SHA-256 shows whether anything changed since
//! it was signed (21 CFR 11.70). Characters stand as their SHA-256; personal values stand as the
//! commitments of their entries.

use super::{CURRENT, Committed, Recorded, ScanItem};
use crate::database::StoreError;
use crate::moment::instant_text;
use lotwarden_domain::cases::{CaseStatus, Disposition, Verdict};
use lotwarden_ledger::{Hash, canonical};
use serde::Serialize;
use uuid::Uuid;

use super::parts::{
    CheckPart, EnergyPart, EquipmentPart, GasPart, LotPart, MixPart, PickPart, RunPart,
};

/// The fields that are none in form 1 are left out of it.
#[derive(Serialize)]
struct Record<'a> {
    case: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    checks: Option<Vec<CheckPart<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    commitments: Option<&'a [Committed]>,
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_at: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    energy: Option<Vec<EnergyPart<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    equipment: Option<Vec<EquipmentPart<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    equipment_runs: Option<Vec<RunPart<'a>>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    gas: Option<Vec<GasPart<'a>>>,
    location: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    lots: Option<Vec<LotPart>>,
    #[serde(skip_serializing_if = "Option::is_none")]
    mixes: Option<Vec<MixPart<'a>>>,
    opened_at: String,
    patient: Uuid,
    #[serde(skip_serializing_if = "Option::is_none")]
    picks: Option<Vec<PickPart<'a>>>,
    practitioner: Uuid,
    procedure: &'a str,
    scans: Vec<ScanPart<'a>>,
    scheduled_for: String,
    #[serde(skip_serializing_if = "Option::is_none")]
    started_at: Option<String>,
    status: CaseStatus,
    v: i16,
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

/// The record in one of its forms; a form that nobody knows is unfit.
pub(super) fn render(recorded: &Recorded, form: i16) -> Result<String, StoreError> {
    let whole = match form {
        CURRENT => true,
        1 => false,
        _ => return Err(StoreError::Unfit),
    };
    let case = &recorded.case;
    let record = Record {
        case: case.id,
        checks: whole.then(|| recorded.checks.iter().map(CheckPart::of).collect()),
        commitments: whole.then_some(recorded.commitments.as_slice()),
        ended_at: case.ended_at.map(instant_text),
        energy: whole.then(|| recorded.energy.iter().map(EnergyPart::of).collect()),
        equipment: whole.then(|| recorded.equipment.iter().map(EquipmentPart::of).collect()),
        equipment_runs: whole.then(|| recorded.runs.iter().map(RunPart::of).collect()),
        gas: whole.then(|| recorded.gas.iter().map(GasPart::of).collect()),
        location: case.location.0,
        lots: whole.then(|| recorded.lots.iter().map(LotPart::of).collect()),
        mixes: whole.then(|| recorded.mixes.iter().map(MixPart::of).collect()),
        opened_at: instant_text(case.opened_at),
        patient: case.patient,
        picks: whole.then(|| recorded.picks.iter().map(PickPart::of).collect()),
        practitioner: case.practitioner.0,
        procedure: &case.procedure,
        scans: recorded.scans.iter().map(ScanPart::of).collect(),
        scheduled_for: instant_text(case.scheduled_for),
        started_at: case.started_at.map(instant_text),
        status: case.status,
        v: form,
        version: case.version,
    };
    canonical::to_string(&record).map_err(|_| StoreError::Unfit)
}

impl<'a> ScanPart<'a> {
    fn of(scan: &'a ScanItem) -> Self {
        let on_case = scan.on_case.as_ref();
        Self {
            actor: &scan.actor,
            disposition: on_case.map(|piece| piece.disposition),
            disposition_reason: on_case.and_then(|piece| piece.reason.as_deref()),
            findings: slugs(&scan.findings),
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

/// The slugs of findings as they were told.
pub(super) fn slugs(findings: &serde_json::Value) -> Vec<&str> {
    let findings = findings.as_array().into_iter().flatten();
    findings
        .filter_map(|finding| finding["slug"].as_str())
        .collect()
}
