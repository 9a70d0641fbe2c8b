//! The ledger entry of a scan.

use super::Batch;
use crate::moment::instant_text;
use crate::recorder::Receipt;
use crate::recorder::batch::NewEntry;
use crate::recorder::job::{Failure, ScanJob, station_text};
use crate::recorder::scan::ScanOutcome;
use crate::recorder::writing::Commitments;
use crate::sealing::{DISCLOSURE, PATIENT_KEY};
use lotwarden_domain::cases::Verdict;
use lotwarden_ledger::Event;
use serde::Serialize;
use std::collections::BTreeMap;
use uuid::Uuid;

/// The entry of a scan.
#[derive(Serialize)]
struct ScanData<'a> {
    case: Uuid,
    #[serde(skip_serializing_if = "BTreeMap::is_empty")]
    commitments: BTreeMap<&'a str, String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    drawn_from: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    expires_on: Option<String>,
    findings: Vec<&'static str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    first_scan: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    held_session: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    identifier: Option<String>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    lot_id: Option<Uuid>,
    occurred_at: String,
    on_case: bool,
    #[serde(skip_serializing_if = "Option::is_none")]
    product: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    serial: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    symbology: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    text: Option<&'a str>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unit: Option<Uuid>,
    #[serde(skip_serializing_if = "Option::is_none")]
    unread: Option<&'static str>,
    verdict: Verdict,
}

impl Batch<'_> {
    pub(super) fn append(
        &mut self,
        job: &ScanJob,
        outcome: &ScanOutcome,
    ) -> Result<Receipt, Failure> {
        let label = outcome.label.as_ref().ok();
        let mut commitments = Commitments::default();
        if label.is_none() {
            commitments.commit("text", &job.scan.text);
        }
        let data = ScanData {
            case: outcome.case,
            commitments: commitments.digests(),
            drawn_from: outcome.placed.and_then(|placed| placed.drawn_from),
            expires_on: label
                .and_then(|label| label.expires_on)
                .map(|date| date.to_string()),
            findings: outcome
                .findings
                .iter()
                .map(|finding| finding.slug.as_str())
                .collect(),
            first_scan: outcome.first_scan,
            held_session: job.scan.held_session,
            identifier: label
                .and_then(|label| label.code.as_ref())
                .map(ToString::to_string),
            lot: label.and_then(|label| label.lot.as_deref()),
            lot_id: outcome.lot,
            occurred_at: instant_text(outcome.occurred_at),
            on_case: outcome.placed.is_some(),
            product: outcome.product.as_ref().map(|(id, _)| *id),
            serial: label.and_then(|label| label.serial.as_deref()),
            symbology: job.scan.symbology.as_deref(),
            text: label.map(|_| job.scan.text.as_str()),
            unit: outcome.unit,
            unread: outcome.label.as_ref().err().map(|unread| unread.code),
            verdict: outcome.verdict,
        };
        let subject = format!("scan:{}", outcome.id);
        let receipt = self.entry(job, "record_scan", subject, Some(outcome.case), &data)?;
        self.disclose(outcome.case, receipt, &commitments)?;
        Ok(receipt)
    }

    fn disclose(
        &mut self,
        case: Uuid,
        receipt: Receipt,
        commitments: &Commitments,
    ) -> Result<(), Failure> {
        for disclosure in &commitments.disclosures {
            let case = self.world.cases.get(&case).and_then(Option::as_ref);
            let case = case.ok_or(Failure::Unfit)?;
            let key = self.facility_key.unwrap(PATIENT_KEY, &case.wrapped_key)?;
            let new = &mut self.writes.newcomers;
            new.disclosed_at.push(receipt.position.cast_signed());
            new.disclosed_name.push("text");
            new.patient.push(case.patient);
            new.sealed
                .push(key.seal(DISCLOSURE, disclosure.encoded().as_bytes())?);
        }
        Ok(())
    }

    pub(super) fn entry(
        &mut self,
        job: &ScanJob,
        action: &'static str,
        subject: String,
        case: Option<Uuid>,
        data: &impl Serialize,
    ) -> Result<Receipt, Failure> {
        let actor = job.waiting.caller.clone();
        let station = station_text(job.waiting.request.station);
        let event = Event::new(action, actor.clone(), station, subject.clone(), data)?;
        let entry = self.head.append(&event, self.at)?;
        let receipt = Receipt {
            position: entry.position,
            hash: entry.hash,
        };
        self.writes.entries.push(NewEntry {
            entry,
            action,
            actor,
            subject,
            case,
        });
        Ok(receipt)
    }
}
