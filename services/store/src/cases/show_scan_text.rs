//! Showing the characters of an unread scan.

use crate::ledger::open_disclosure;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{disclosures, patients, scans};
use crate::sealing::{Key, PATIENT_KEY};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use serde::Serialize;
use uuid::Uuid;

/// Opens the characters of an unread scan. They may be a wristband or a typed name, so it takes
/// the right to see the patient, and each look is a ledger entry.
#[derive(Clone, Debug)]
pub struct ShowScanText {
    /// The facility's key.
    pub facility_key: Key,
    /// The case.
    pub case: Uuid,
    /// The scan.
    pub scan: Uuid,
}

/// Why the characters are not shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum ShowScanTextRefusal {
    /// The case has no such scan, it was read, or its characters were erased.
    #[error("the case has no unread scan of this id whose characters are kept")]
    NothingKept,
}

#[derive(Serialize)]
struct Data {
    text: bool,
}

impl Operation for ShowScanText {
    type Permission = act::ShowPatient;
    type Outcome = String;
    type Refusal = ShowScanTextRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<String, Refused<ShowScanTextRefusal>> {
        let row: Option<(Vec<u8>, Vec<u8>)> = scans::table
            .inner_join(
                disclosures::table.on(disclosures::facility_id
                    .eq(scans::facility_id)
                    .and(disclosures::position.eq(scans::position))
                    .and(disclosures::name.eq("text"))),
            )
            .inner_join(patients::table.on(patients::id.eq(disclosures::patient_id)))
            .filter(scans::case_id.eq(self.case))
            .filter(scans::id.eq(self.scan))
            .select((patients::wrapped_key, disclosures::sealed))
            .first(writing.connection)
            .await
            .optional()?;
        let Some((wrapped_key, sealed)) = row else {
            return Err(Refused::Because(ShowScanTextRefusal::NothingKept));
        };
        let key = self.facility_key.unwrap(PATIENT_KEY, &wrapped_key)?;
        let text = open_disclosure(&key, &sealed)?.value;
        let subject = Subject::of_case("scan", self.scan, self.case);
        writing.append("show_scan", subject, &Data { text: true })?;
        Ok(text)
    }
}
