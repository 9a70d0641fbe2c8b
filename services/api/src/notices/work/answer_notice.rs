//! `POST /v1/notices/{notice}/answers`

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
use lotwarden_store::notices::work::{AnswerNotice, Contact};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What the site adds to its numbers.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AnswerBody {
    /// Whether the site knows of an adverse event.
    adverse_events: bool,
    /// The name of whom the firm may ask.
    #[schema(example = "M. Okafor", min_length = 1, max_length = 200)]
    contact_name: String,
    /// The title.
    #[schema(example = "Materials manager", min_length = 1, max_length = 200)]
    contact_title: String,
    /// The telephone number.
    #[schema(example = "+1 555 0100", min_length = 1, max_length = 50)]
    contact_phone: String,
    /// How the answer is sent.
    #[schema(example = "Form by mail", min_length = 1, max_length = 100)]
    sent_by: String,
}

impl Checked for AnswerBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/contact_name", &self.contact_name, 1, 200);
        errors.text("/contact_title", &self.contact_title, 1, 200);
        errors.text("/contact_phone", &self.contact_phone, 1, 50);
        errors.text("/sent_by", &self.sent_by, 1, 100);
    }
}

/// Puts the answer to the firm on record as it is sent: the numbers of each lot, whether anything is on hand, and no patient's identity.
#[utoipa::path(
    operation_id = "answer_notice", tag = "notices", request_body = AnswerBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/answers")]
pub(super) async fn answer_notice(
    allowed: Allowed<act::AnswerNotice>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<AnswerBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = AnswerNotice {
        notice: notice.into_inner(),
        adverse_events: body.adverse_events,
        contact: Contact {
            name: body.contact_name,
            phone: body.contact_phone,
            title: body.contact_title,
        },
        sent_by: body.sent_by,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
