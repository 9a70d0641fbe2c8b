//! Webhooks, the mail's outbox, and reminders.

pub mod deliver;
mod messages;
mod webhooks;

use utoipa_actix_web::service_config::ServiceConfig;

/// The routes of this capability.
pub fn routes(config: &mut ServiceConfig<'_>) {
    config
        .service(webhooks::add_webhook)
        .service(webhooks::list_webhooks)
        .service(webhooks::end_webhook)
        .service(messages::list_messages)
        .service(messages::resend_message)
        .service(messages::list_mails)
        .service(messages::remind_tasks);
}
