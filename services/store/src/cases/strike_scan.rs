//! Taking a scan back.

use super::change_status::count_change;
use super::list_scans::{self, ScanItem};
use super::{shelf, standing};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::{strikes, uses};
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Disposition;
use serde::Serialize;
use uuid::Uuid;

/// Takes a scan back with a reason; it stays visible, and what it put on the case comes off.
#[derive(Clone, Debug)]
pub struct StrikeScan {
    /// The case.
    pub case: Uuid,
    /// The scan.
    pub scan: Uuid,
    /// Why: 3 to 500 characters, never a patient's identity.
    pub reason: String,
}

/// Why a scan is not taken back.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum StrikeScanRefusal {
    /// The case has no such scan.
    #[error("the case has no such scan")]
    NoSuchScan,
    /// It was taken back before.
    #[error("the scan was struck already")]
    StruckAlready,
    /// The case is signed; nothing on it changes.
    #[error("the case is signed; nothing on it can change")]
    CaseSigned,
}

#[derive(Serialize)]
struct Data<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    old_disposition: Option<&'a str>,
    on_case: bool,
    reason: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    returned_to: Option<Uuid>,
    verdict: &'a str,
}

impl Operation for StrikeScan {
    type Permission = act::StrikeScan;
    type Outcome = ScanItem;
    type Refusal = StrikeScanRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ScanItem, Refused<StrikeScanRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let found = standing::find(writing.connection, self.case, self.scan).await?;
        let Some(standing) = found else {
            return refuse(StrikeScanRefusal::NoSuchScan);
        };
        if standing.struck {
            return refuse(StrikeScanRefusal::StruckAlready);
        }
        if standing::is_signed(writing.connection, self.case).await? {
            return refuse(StrikeScanRefusal::CaseSigned);
        }
        diesel::insert_into(strikes::table)
            .values((
                strikes::facility_id.eq(writing.facility.id),
                strikes::scan_id.eq(self.scan),
                strikes::case_id.eq(self.case),
                strikes::actor.eq(writing.actor.to_string()),
                strikes::reason.eq(&self.reason),
                strikes::struck_at.eq(writing.at.to_diesel()),
            ))
            .execute(writing.connection)
            .await?;
        let mut data = Data {
            old_disposition: None,
            on_case: standing.on_case.is_some(),
            reason: &self.reason,
            returned_to: None,
            verdict: &standing.verdict,
        };
        if let Some(piece) = &standing.on_case {
            diesel::update(uses::table.find((piece.lot_id, piece.scan_id)))
                .set((
                    uses::struck_at.eq(writing.at.to_diesel()),
                    uses::version.eq(piece.version + 1),
                ))
                .execute(writing.connection)
                .await?;
            data.old_disposition = Some(&piece.disposition);
            // A returned piece went back when it was returned.
            if piece.disposition != Disposition::Returned.as_str() {
                shelf::put_back(writing, piece).await?;
                data.returned_to = piece.drawn_from;
            }
        }
        count_change(writing, self.case).await?;
        let subject = Subject::of_case("scan", self.scan, self.case);
        writing.append("strike_scan", subject, &data)?;
        let item = list_scans::find(writing.connection, self.case, self.scan).await?;
        Ok(item.ok_or(StoreError::Unfit)?)
    }
}
