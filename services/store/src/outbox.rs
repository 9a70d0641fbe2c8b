//! What the service tells others by itself: messages to webhooks, mail, and reminders.
//!
//! A message is written in the commit of what it tells, so that none is lost and none tells what
//! did not happen. It goes out later, at least once, always under the same id.

mod add_webhook;
mod announce;
mod end_webhook;
mod hand_over;
mod list_webhooks;
mod messages;
mod record_attempt;
mod remind_tasks;
mod resend_message;
mod signature;

pub use add_webhook::{AddWebhook, AddWebhookRefusal, MOST_WEBHOOKS, Webhook};
pub(crate) use announce::{Said, announce};
pub use end_webhook::{EndWebhook, EndWebhookRefusal};
pub use hand_over::{HandOver, HandOverRefusal, Mail, list_mails, to_hand_over};
pub use list_webhooks::list_webhooks;
pub use messages::{Due, Message, due, list_messages};
pub use record_attempt::{RecordAttempt, RecordAttemptRefusal};
pub use remind_tasks::{RemindTasks, RemindTasksRefusal};
pub use resend_message::{ResendMessage, ResendMessageRefusal};
pub use signature::sign;
