//! What the service tells others by itself: events to webhooks, and mail. Never a patient's identity.

mod address;
mod backoff;
mod mail;
mod networks;

use crate::word::words;

pub use address::{AddressFault, WebhookAddress};
pub use backoff::{ATTEMPTS, wait_after};
pub use mail::{MailAddress, NotAMailAddress, message};
pub use networks::{Networks, NotNetworks};

words! {
    /// What others are told of.
    OutboxEvent, "outbox event" {
        /// A notice was taken in.
        NoticeAdded = "notice.added",
        /// A notice was confirmed.
        NoticeConfirmed = "notice.confirmed",
        /// A notice was withdrawn or terminated.
        NoticeEnded = "notice.ended",
        /// A notice was closed by two signatures.
        NoticeClosed = "notice.closed",
        /// A task of a notice is due soon or overdue.
        NoticeTaskDue = "notice_task.due",
    }
}

words! {
    /// How far a message to a webhook is.
    DeliveryState, "delivery state" {
        /// To be sent, for the first time or again.
        Waiting = "waiting",
        /// The receiver took it.
        Delivered = "delivered",
        /// Given up after the last attempt; a person may send it again.
        Dead = "dead",
    }
}

words! {
    /// Why somebody is reminded of a task.
    ReminderStage, "stage of a reminder" {
        /// It is due soon.
        Soon = "soon",
        /// Its due time is over.
        Overdue = "overdue",
    }
}
