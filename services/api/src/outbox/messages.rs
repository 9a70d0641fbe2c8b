//! `/v1/webhook-messages`, `/v1/mails` and `/v1/notice-reminders`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::Nothing;
use crate::http::{IfMatch, Keyed, List, Paging, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::{DeliveryState, OutboxEvent};
use lotwarden_store::moment::instant_text;
use lotwarden_store::outbox::{
    self as store, RemindTasks, RemindTasksRefusal, ResendMessage, ResendMessageRefusal,
};
use serde::{Deserialize, Serialize};
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which messages.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct WhichMessages {
    /// Only those in this state: `waiting`, `delivered` or `dead`.
    #[param(value_type = Option<String>, pattern = "^(waiting|delivered|dead)$")]
    state: Option<DeliveryState>,
}

/// A message to a webhook.
#[derive(Debug, Serialize, ToSchema)]
pub struct WebhookMessage {
    /// The message: its `webhook-id`.
    id: Uuid,
    /// The webhook.
    webhook_id: Uuid,
    /// What it tells.
    #[schema(value_type = String, example = "notice.confirmed")]
    event: OutboxEvent,
    /// Its body as it is sent.
    body: String,
    /// When it was written.
    #[schema(format = DateTime)]
    created_at: String,
    /// `waiting`, `delivered` or `dead` (given up).
    #[schema(value_type = String, example = "delivered")]
    state: DeliveryState,
    /// Attempts so far.
    attempts: i32,
    /// When the next attempt is made.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    next_at: Option<String>,
    /// What came of the last attempt: a status, or what kept it from being sent.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(example = "200")]
    last_answer: Option<String>,
    /// When that was.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    last_at: Option<String>,
    /// Counts the changes; the entity tag.
    version: i32,
}

impl From<&store::Message> for WebhookMessage {
    fn from(message: &store::Message) -> Self {
        let (last_answer, last_at) = message.last.clone().unzip();
        Self {
            id: message.id,
            webhook_id: message.webhook,
            event: message.event,
            body: message.body.clone(),
            created_at: instant_text(message.created_at),
            state: message.state,
            attempts: message.attempts,
            next_at: message.next_at.map(instant_text),
            last_answer,
            last_at: last_at.map(instant_text),
            version: message.version,
        }
    }
}

impl From<ResendMessageRefusal> for ApiError {
    fn from(refusal: ResendMessageRefusal) -> Self {
        match refusal {
            ResendMessageRefusal::NoSuchMessage => ApiError::no_such("message"),
            ResendMessageRefusal::Stale => ApiError::new(&catalogue::STALE),
            ResendMessageRefusal::Waiting | ResendMessageRefusal::WebhookEnded => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

impl From<RemindTasksRefusal> for ApiError {
    fn from(refusal: RemindTasksRefusal) -> Self {
        match refusal {
            RemindTasksRefusal::NothingDue => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Lists messages to webhooks in the order they were written; those that were given up are `dead`.
#[utoipa::path(
    operation_id = "list_messages", tag = "outbox", params(WhichMessages, Paging),
    responses((status = 200, description = "A page of messages.", body = List<WebhookMessage>), Refusals),
)]
#[get("/v1/webhook-messages")]
pub(super) async fn list_messages(
    allowed: Allowed<act::ListMessages>,
    app: Data<App>,
    which: Query<WhichMessages>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_messages(&mut reading, which.state, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |one| WebhookMessage::from(&one))))
}

/// Sends a message again that was given up or delivered; its attempts count anew.
#[utoipa::path(
    operation_id = "resend_message", tag = "outbox", request_body = Nothing,
    params(("message" = Uuid, Path, description = "The message."), Change, IdempotencyKey),
    responses((status = 200, description = "It waits to be sent.", body = WebhookMessage), Refusals),
)]
#[post("/v1/webhook-messages/{message}/resend")]
pub(super) async fn resend_message(
    allowed: Allowed<act::ResendMessage>,
    app: Data<App>,
    message: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = ResendMessage {
        id: message.into_inner(),
        version: version.0,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |message, receipt| {
            let version = Some(message.version);
            render(
                StatusCode::OK,
                &WebhookMessage::from(message),
                receipt,
                version,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// A mail of the outbox.
#[derive(Debug, Serialize, ToSchema)]
pub struct OutboxMail {
    /// The mail.
    id: Uuid,
    /// What it tells.
    #[schema(value_type = String, example = "notice_task.due")]
    event: OutboxEvent,
    /// Header and text, as RFC 5322 has it.
    message: String,
    /// When it was written.
    #[schema(format = DateTime)]
    created_at: String,
    /// When it was handed to a mail system.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    handed_at: Option<String>,
}

/// Lists the mails of the outbox in the order they were written; `lotwarden outbox` hands them over.
#[utoipa::path(
    operation_id = "list_mails", tag = "outbox", params(Paging),
    responses((status = 200, description = "A page of mails.", body = List<OutboxMail>), Refusals),
)]
#[get("/v1/mails")]
pub(super) async fn list_mails(
    allowed: Allowed<act::ListMails>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_mails(&mut reading, paging.after()?).await?;
    let mail = |mail: store::Mail| OutboxMail {
        id: mail.id,
        event: mail.event,
        message: mail.message,
        created_at: instant_text(mail.created_at),
        handed_at: mail.handed_at.map(instant_text),
    };
    Ok(HttpResponse::Ok().json(List::of(page, mail)))
}

/// How many tasks were told of.
#[derive(Debug, Serialize, ToSchema)]
pub struct Reminded {
    /// Tasks.
    tasks: usize,
}

/// Tells of each open task once when it is due soon and once when it is overdue, by webhook and
/// mail. The service does so by itself too.
#[utoipa::path(
    operation_id = "remind_tasks", tag = "outbox", request_body = Nothing, params(IdempotencyKey),
    responses((status = 200, description = "Told.", body = Reminded), Refusals),
)]
#[post("/v1/notice-reminders")]
pub(super) async fn remind_tasks(
    allowed: Allowed<act::RemindTasks>,
    app: Data<App>,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        RemindTasks,
        |tasks, receipt| {
            let reminded = Reminded { tasks: *tasks };
            render(StatusCode::OK, &reminded, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
