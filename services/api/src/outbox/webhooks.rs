//! `/v1/webhooks`

use crate::access::Allowed;
use crate::app::App;
use crate::cases::facility_key;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields, Nothing};
use crate::http::{IfMatch, Keyed, List, Paging, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get, post};
use base64::Engine;
use base64::engine::general_purpose::STANDARD;
use lotwarden_domain::access::act;
use lotwarden_domain::outbox::{OutboxEvent, WebhookAddress};
use lotwarden_store::moment::instant_text;
use lotwarden_store::outbox::{self as store, AddWebhookRefusal, EndWebhook, EndWebhookRefusal};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// An address that is to be told of events.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WebhookBody {
    /// The address: `https`, or `http` to this machine. Neither what is written nor what the name
    /// leads to may be an address that not everybody reaches (IANA's special-purpose registries),
    /// unless the service's setting `webhook_networks` names its network.
    #[schema(
        example = "https://hooks.example.org/lotwarden",
        min_length = 1,
        max_length = 500
    )]
    address: String,
    /// The events: `notice.added`, `notice.confirmed`, `notice.ended`, `notice.closed`,
    /// `notice_task.due`.
    #[schema(value_type = Vec<String>, example = json!(["notice.confirmed", "notice_task.due"]), min_items = 1, max_items = 20)]
    events: Vec<OutboxEvent>,
    /// The key of the signatures: `whsec_` and 24 to 64 random bytes in base64, made by the
    /// receiver. It is sealed and never shown.
    #[schema(value_type = String, example = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw", min_length = 38, max_length = 94)]
    secret: Zeroizing<String>,
}

impl WebhookBody {
    fn key(&self) -> Option<Zeroizing<Vec<u8>>> {
        let text = self.secret.strip_prefix("whsec_")?;
        let bytes = Zeroizing::new(STANDARD.decode(text).ok()?);
        (24..=64).contains(&bytes.len()).then_some(bytes)
    }
}

impl Checked for WebhookBody {
    fn check(&self, errors: &mut Fields) {
        if let Err(fault) = WebhookAddress::read(&self.address) {
            errors.require(false, "/address", &fault.to_string());
        }
        let once: BTreeSet<&OutboxEvent> = self.events.iter().collect();
        let fits = !self.events.is_empty() && once.len() == self.events.len();
        errors.require(fits, "/events", "must be at least one event, and each once");
        let detail = "must be whsec_ and 24 to 64 bytes in base64";
        errors.require(self.key().is_some(), "/secret", detail);
    }
}

/// An address that is told of events.
#[derive(Debug, Serialize, ToSchema)]
pub struct Webhook {
    /// The webhook.
    id: Uuid,
    /// Its address.
    address: String,
    /// The events it is told of.
    #[schema(value_type = Vec<String>)]
    events: Vec<OutboxEvent>,
    /// Who added it.
    added_by: String,
    /// When.
    #[schema(format = DateTime)]
    added_at: String,
    /// Who ended it.
    #[serde(skip_serializing_if = "Option::is_none")]
    ended_by: Option<String>,
    /// When.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    ended_at: Option<String>,
    /// Counts the changes; the entity tag.
    version: i32,
}

impl From<&store::Webhook> for Webhook {
    fn from(webhook: &store::Webhook) -> Self {
        let (ended_by, ended_at) = webhook.ended.clone().unzip();
        Self {
            id: webhook.id,
            address: webhook.address.clone(),
            events: webhook.events.clone(),
            added_by: webhook.added.0.clone(),
            added_at: instant_text(webhook.added.1),
            ended_by,
            ended_at: ended_at.map(instant_text),
            version: webhook.version,
        }
    }
}

impl From<AddWebhookRefusal> for ApiError {
    fn from(refusal: AddWebhookRefusal) -> Self {
        match refusal {
            AddWebhookRefusal::TooMany => {
                let detail = sentence(&refusal.to_string());
                ApiError::fields(vec![FieldError::new("/address", detail)])
            }
        }
    }
}

impl From<EndWebhookRefusal> for ApiError {
    fn from(refusal: EndWebhookRefusal) -> Self {
        match refusal {
            EndWebhookRefusal::NoSuchWebhook => ApiError::no_such("webhook"),
            EndWebhookRefusal::Stale => ApiError::new(&catalogue::STALE),
            EndWebhookRefusal::EndedAlready => {
                ApiError::new(&catalogue::ALREADY_DONE).detail(sentence(&refusal.to_string()))
            }
        }
    }
}

/// Adds an address that is told of events, signed as Standard Webhooks has it (`webhook-id`,
/// `webhook-timestamp`, `webhook-signature` version 1). Messages hold no patient's identity; each
/// comes at least once, under one id. A facility has at most 20 that were not ended.
#[utoipa::path(
    operation_id = "add_webhook", tag = "outbox", request_body = WebhookBody, params(IdempotencyKey),
    responses((status = 201, description = "Added.", body = Webhook), Refusals),
)]
#[post("/v1/webhooks")]
pub(super) async fn add_webhook(
    allowed: Allowed<act::AddWebhook>,
    app: Data<App>,
    keyed: Keyed<WebhookBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let address = WebhookAddress::read(&body.address).and_then(|address| {
        address.check(&app.webhook_networks)?;
        Ok(address)
    });
    let address = address.map_err(|fault| {
        let detail = sentence(&fault.to_string());
        ApiError::fields(vec![FieldError::new("/address", detail)])
    })?;
    let (_, facility_key) = facility_key(&app, allowed.caller.facility).await?;
    let operation = store::AddWebhook {
        facility_key,
        address,
        secret: body.key().unwrap_or_default(),
        events: body.events,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |webhook, receipt| {
            let version = Some(webhook.version);
            render(
                StatusCode::CREATED,
                &Webhook::from(webhook),
                receipt,
                version,
            )
        },
    );
    Ok(reply(recorded.await?))
}

/// Lists webhooks in the order they were added, without their secrets.
#[utoipa::path(
    operation_id = "list_webhooks", tag = "outbox", params(Paging),
    responses((status = 200, description = "A page of webhooks.", body = List<Webhook>), Refusals),
)]
#[get("/v1/webhooks")]
pub(super) async fn list_webhooks(
    allowed: Allowed<act::ListWebhooks>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_webhooks(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |webhook| Webhook::from(&webhook))))
}

/// Ends a webhook: it is told of nothing any more, and what still waits for it is given up.
#[utoipa::path(
    operation_id = "end_webhook", tag = "outbox", request_body = Nothing,
    params(("webhook" = Uuid, Path, description = "The webhook."), Change, IdempotencyKey),
    responses((status = 200, description = "Ended.", body = Webhook), Refusals),
)]
#[post("/v1/webhooks/{webhook}/end")]
pub(super) async fn end_webhook(
    allowed: Allowed<act::EndWebhook>,
    app: Data<App>,
    webhook: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<Nothing>,
) -> Result<HttpResponse, ApiError> {
    let operation = EndWebhook {
        id: webhook.into_inner(),
        version: version.0,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |webhook, receipt| {
            let version = Some(webhook.version);
            render(StatusCode::OK, &Webhook::from(webhook), receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
