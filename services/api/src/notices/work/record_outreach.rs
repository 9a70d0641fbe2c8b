//! `POST /v1/notices/{notice}/outreach`

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
use lotwarden_domain::notices::{OutreachMethod, OutreachResult};
use lotwarden_store::notices::work::{Outreach, RecordOutreach};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// An attempt to tell a patient.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OutreachBody {
    /// The patient, by id.
    patient_id: Uuid,
    /// `letter`, `telephone`, `mail` or `visit`.
    #[schema(value_type = String, example = "telephone", pattern = "^(letter|telephone|mail|visit)$")]
    method: OutreachMethod,
    /// `reached`, `sent`, `no_answer`, `undeliverable` or `declined`.
    #[schema(value_type = String, example = "reached", pattern = "^(reached|sent|no_answer|undeliverable|declined)$")]
    result: OutreachResult,
}

impl Checked for OutreachBody {
    fn check(&self, errors: &mut Fields) {
        let told_later = self.result != OutreachResult::Sent
            || matches!(self.method, OutreachMethod::Letter | OutreachMethod::Mail);
        errors.require(told_later, "/result", "only a letter or mail can be sent");
    }
}

/// Puts an attempt to tell a patient on record.
#[utoipa::path(
    operation_id = "record_outreach", tag = "notices", request_body = OutreachBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/outreach")]
pub(super) async fn record_outreach(
    allowed: Allowed<act::RecordOutreach>,
    app: Data<App>,
    notice: Path<Uuid>,
    keyed: Keyed<OutreachBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let operation = RecordOutreach {
        notice: notice.into_inner(),
        patient: body.patient_id,
        outreach: Outreach {
            method: body.method,
            result: body.result,
        },
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
