//! Putting a notice's end on record.

use super::{Notice, NoticeRow, told};
use crate::recorder::{Operation, Refused, Subject, Writing};
use crate::schema::notices;
use diesel::prelude::*;
use diesel_async::RunQueryDsl;
use jiff::civil::Date;
use jiff_diesel::ToDiesel;
use lotwarden_domain::access::act;
use lotwarden_domain::notices::{NoticeEnd, NoticeState};
use lotwarden_domain::outbox::OutboxEvent;
use serde::Serialize;
use uuid::Uuid;

/// Puts on record that a notice was withdrawn, or that its authority terminated it.
///
/// A withdrawn notice stops nothing any more; the holds it placed stay until a person lifts them.
/// What a terminated one names stays barred: the authority found that the firm has done its part
/// (21 CFR 7.55), not that the items are fit for use.
#[derive(Clone, Debug)]
pub struct EndNotice {
    /// The notice.
    pub id: Uuid,
    /// The version the caller saw.
    pub version: i32,
    /// How it ended.
    pub end: NoticeEnd,
    /// The day the authority ended it; none means today.
    pub on: Option<Date>,
    /// Why: 3 to 500 characters.
    pub reason: String,
}

/// Why a notice is not ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
pub enum EndNoticeRefusal {
    /// There is no such notice.
    #[error("there is no such notice")]
    NoSuchNotice,
    /// It changed since the caller read it.
    #[error("the notice changed since it was read")]
    Stale,
    /// It ended so already.
    #[error("the notice ended already")]
    EndedAlready,
}

#[derive(Serialize)]
struct Data<'a> {
    end: NoticeEnd,
    on: String,
    reason: &'a str,
}

impl Operation for EndNotice {
    type Permission = act::EndNotice;
    type Outcome = Notice;
    type Refusal = EndNoticeRefusal;

    async fn apply(&self, writing: &mut Writing<'_>) -> Result<Notice, Refused<EndNoticeRefusal>> {
        let row: Option<NoticeRow> = notices::table
            .find(self.id)
            .select(NoticeRow::as_select())
            .first(writing.connection)
            .await
            .optional()?;
        let row = row.ok_or(Refused::Because(EndNoticeRefusal::NoSuchNotice))?;
        let notice = Notice::try_from(row)?;
        let again = self.end == NoticeEnd::Terminated && notice.terminated_on.is_some();
        if again || notice.state == NoticeState::Withdrawn {
            return Err(Refused::Because(EndNoticeRefusal::EndedAlready));
        }
        if notice.version != self.version {
            return Err(Refused::Because(EndNoticeRefusal::Stale));
        }
        let today = writing.facility.day(writing.at);
        let on = self.on.unwrap_or(today);
        let ended = diesel::update(notices::table.find(self.id));
        let told = (
            notices::end_reason.eq(&self.reason),
            notices::version.eq(self.version + 1),
        );
        let row: NoticeRow = match self.end {
            NoticeEnd::Withdrawn => {
                let withdrawn = (
                    notices::state.eq(NoticeState::Withdrawn.as_str()),
                    notices::withdrawn_by.eq(writing.actor.to_string()),
                    notices::withdrawn_at.eq(writing.at.to_diesel()),
                );
                ended
                    .set((withdrawn, told))
                    .returning(NoticeRow::as_select())
                    .get_result(writing.connection)
                    .await?
            }
            NoticeEnd::Terminated => {
                ended
                    .set((notices::terminated_on.eq(on.to_diesel()), told))
                    .returning(NoticeRow::as_select())
                    .get_result(writing.connection)
                    .await?
            }
        };
        let data = Data {
            end: self.end,
            on: on.to_string(),
            reason: &self.reason,
        };
        writing.append("end_notice", Subject::new("notice", self.id), &data)?;
        let notice = Notice::try_from(row)?;
        told::of(writing, OutboxEvent::NoticeEnded, &notice).await?;
        Ok(notice)
    }
}
