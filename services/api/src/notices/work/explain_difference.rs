//! `POST /v1/notices/{notice}/explanations`

use super::{WorkRecorded, on_record};
use crate::access::Allowed;
use crate::access::secret::{self, BadgeAndPin};
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::notices::work::ExplainDifference;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// Why the numbers of a lot do not close.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExplanationBody {
    /// The lot.
    lot_id: Uuid,
    /// Why.
    #[schema(
        example = "One pouch was opened for training on 3 March",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
    /// The signer's password, asked for again (21 CFR 11.200).
    #[schema(value_type = Option<String>, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Option<Zeroizing<String>>,
    /// In place of the password, in a session that was begun so: the signer's badge and PIN.
    by_badge: Option<BadgeAndPin>,
}

impl Checked for ExplanationBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
        errors.signer(self.password.as_deref(), self.by_badge.as_ref());
    }
}

/// Signs an explanation of the difference of a lot as it is now; when the numbers change, it counts no more.
#[utoipa::path(
    operation_id = "explain_difference", tag = "notices", request_body = ExplanationBody,
    params(("notice" = Uuid, Path, description = "The notice."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = WorkRecorded), Refusals),
)]
#[post("/v1/notices/{notice}/explanations")]
pub(super) async fn explain_difference(
    allowed: Allowed<act::ExplainDifference>,
    app: Data<App>,
    http: HttpRequest,
    notice: Path<Uuid>,
    keyed: Keyed<ExplanationBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    secret::prove_signer(&app, &http, &allowed.caller, (body.password, body.by_badge)).await?;
    let operation = ExplainDifference {
        notice: notice.into_inner(),
        lot: body.lot_id,
        reason: body.reason,
    };
    let recorded = app
        .recorder
        .record(&allowed.grant, keyed.request, operation, on_record);
    Ok(reply(recorded.await?))
}
