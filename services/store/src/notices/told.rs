//! Telling others of a notice.

use super::Notice;
use crate::outbox::{Said, announce};
use crate::recorder::{Failure, Writing};
use lotwarden_domain::import::RecallClass;
use lotwarden_domain::notices::NoticeState;
use lotwarden_domain::outbox::OutboxEvent;
use serde::Serialize;
use uuid::Uuid;

/// What a webhook is told of a notice: nothing of patients.
#[derive(Serialize)]
struct Told<'a> {
    notice_id: Uuid,
    root_id: Uuid,
    firm: &'a str,
    reference: &'a str,
    #[serde(skip_serializing_if = "Option::is_none")]
    class: Option<RecallClass>,
    state: NoticeState,
}

/// Tells of a notice as it stands now.
pub(super) async fn of(
    writing: &mut Writing<'_>,
    event: OutboxEvent,
    notice: &Notice,
) -> Result<(), Failure> {
    let data = Told {
        notice_id: notice.id,
        root_id: notice.root,
        firm: &notice.firm,
        reference: &notice.reference,
        class: notice.class,
        state: notice.state,
    };
    let what = match event {
        OutboxEvent::NoticeAdded => "was taken in; somebody has to confirm what it names",
        OutboxEvent::NoticeConfirmed => "is confirmed: what it names is stopped, and there is work",
        OutboxEvent::NoticeEnded => "was put on record as ended",
        OutboxEvent::NoticeClosed | OutboxEvent::NoticeTaskDue => "is closed by two signatures",
    };
    let class = notice.class.map_or("none", RecallClass::as_str);
    let text = format!(
        "Recall notice {} of {}\nClass: {class}\nIt {what}.\n",
        notice.reference, notice.firm
    );
    let said = Said {
        event,
        data: &data,
        mail: (format!("Recall notice {} {what}", notice.reference), text),
    };
    announce(writing, said).await
}
