//! `POST /v1/notices/{notice}/adverse-events`

use super::{WorkRecorded, on_record};
use crate::access::Allowed;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::notices::work::LinkEvent;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// An adverse event's file.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct LinkBody {
    /// The file.
    event_id: Uuid,
}

impl Checked for LinkBody {
    fn check(&self, _: &mut Fields) {}
}

/// Links the file of an adverse event on a case of a patient whom the notice reaches. From then on
/// the answer to the firm says that the site knows of one.
#[utoipa::path(
    operation_id = "link_event", tag = "notices", request_body = LinkBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/adverse-events")]
pub(super) async fn link_event(
    allowed: Allowed<act::LinkEvent>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<LinkBody>,
) -> Result<HttpResponse, ApiError> {
    let operation = LinkEvent {
        notice: notice.into_inner(),
        event: keyed.body.event_id,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
