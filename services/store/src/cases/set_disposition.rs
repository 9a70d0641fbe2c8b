//! Saying what became of a used item.

use super::change_status::count_change;
use super::list_scans::{self, ScanItem};
use super::shelf::{self, NotTaken};
use super::standing::{self, UseRow};
use crate::database::StoreError;
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::uses;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use lotwarden_domain::access::act;
use lotwarden_domain::cases::Disposition;
use serde::Serialize;
use uuid::Uuid;

/// Says what became of the item a scan put on a case. A returned one is back on the shelf.
#[derive(Clone, Debug)]
pub struct SetDisposition {
    /// The case.
    pub case: Uuid,
    /// The scan that put the item on it.
    pub scan: Uuid,
    /// What became of it.
    pub disposition: Disposition,
    /// Why, for what the site has to explain: 1 to 500 characters, never a patient's identity.
    pub reason: Option<String>,
    /// The version of the use that the caller saw.
    pub version: i32,
}

/// Why a disposition is not set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum SetDispositionRefusal {
    /// The case has no such scan, or the scan put nothing on it.
    #[error("no item is on the case by this scan")]
    NoSuchUse,
    /// The scan was taken back.
    #[error("the scan was struck; its item is not on the case")]
    Struck,
    /// The case is signed; nothing on it changes.
    #[error("the case is signed; nothing on it can change")]
    CaseSigned,
    /// It changed since the caller read it.
    #[error("the item changed since it was read")]
    Stale,
    /// The returned piece is on another case since.
    #[error("the returned piece was put on another case since")]
    ClaimedElsewhere,
    /// The place the item went back to has none left.
    #[error("the place the item was returned to has none of this lot left")]
    NoneLeft,
}

#[derive(Serialize)]
struct Data<'a> {
    new: Value<'a>,
    old: Value<'a>,
    version: i32,
}

#[derive(Serialize)]
struct Value<'a> {
    disposition: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    reason: Option<&'a str>,
}

impl Operation for SetDisposition {
    type Permission = act::SetDisposition;
    type Outcome = ScanItem;
    type Refusal = SetDispositionRefusal;

    async fn apply(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<ScanItem, Refused<SetDispositionRefusal>> {
        let piece = self.piece(writing).await?;
        let returned = Disposition::Returned.as_str();
        let new = self.disposition.as_str();
        if new == returned && piece.disposition != returned {
            shelf::put_back(writing, &piece).await?;
        } else if new != returned && piece.disposition == returned {
            let taken = shelf::take_again(writing, &piece).await?;
            taken.map_err(|not_taken| {
                Refused::Because(match not_taken {
                    NotTaken::ClaimedElsewhere => SetDispositionRefusal::ClaimedElsewhere,
                    NotTaken::NoneLeft => SetDispositionRefusal::NoneLeft,
                })
            })?;
        }
        let version = piece.version + 1;
        diesel::update(uses::table.find((piece.lot_id, piece.scan_id)))
            .set((
                uses::disposition.eq(new),
                uses::disposition_reason.eq(&self.reason),
                uses::version.eq(version),
            ))
            .execute(writing.connection)
            .await?;
        count_change(writing, self.case).await?;
        let data = Data {
            new: Value {
                disposition: new,
                reason: self.reason.as_deref(),
            },
            old: Value {
                disposition: &piece.disposition,
                reason: piece.disposition_reason.as_deref(),
            },
            version,
        };
        let subject = Subject::of_case("scan", self.scan, self.case);
        writing.append("set_disposition", subject, &data)?;
        let item = list_scans::find(writing.connection, self.case, self.scan).await?;
        Ok(item.ok_or(StoreError::Unfit)?)
    }
}

impl SetDisposition {
    /// The use to change, when it may be changed.
    async fn piece(
        &self,
        writing: &mut Writing<'_>,
    ) -> Result<UseRow, Refused<SetDispositionRefusal>> {
        let refuse = |refusal| Err(Refused::Because(refusal));
        let found = standing::find(writing.connection, self.case, self.scan).await?;
        let Some(standing) = found else {
            return refuse(SetDispositionRefusal::NoSuchUse);
        };
        let Some(piece) = standing.on_case else {
            return refuse(SetDispositionRefusal::NoSuchUse);
        };
        if standing.struck {
            return refuse(SetDispositionRefusal::Struck);
        }
        if standing::is_signed(writing.connection, self.case).await? {
            return refuse(SetDispositionRefusal::CaseSigned);
        }
        if piece.version != self.version {
            return refuse(SetDispositionRefusal::Stale);
        }
        Ok(piece)
    }
}
