//! `POST /v1/cases/{case}/amendments`

use super::amendment::Amendment;
use crate::access::Allowed;
use crate::access::secret::{self, BadgeAndPin};
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::RecordPart;
use lotwarden_store::cases::{self as store, AmendCaseRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// A correction of a signed case with the signer's password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AmendBody {
    /// What of the record it concerns: `record` as a whole, `scan`, `mix`, `dose`, `gas_use`,
    /// `energy`, `equipment`, `check` or `pick`.
    #[schema(value_type = String, example = "energy")]
    part: RecordPart,
    /// Which; left out for the record as a whole.
    #[serde(default)]
    part_id: Option<Uuid>,
    /// Which value of the part, as the record names it; left out for an addition.
    #[serde(default)]
    #[schema(example = "passes", min_length = 1, max_length = 40)]
    field: Option<String>,
    /// What stands there now, as the signer read it; left out where nothing is recorded.
    #[serde(default)]
    #[schema(example = "6", max_length = 10000)]
    old_value: Option<String>,
    /// What is to stand; never a patient's identity.
    #[schema(example = "8", min_length = 1, max_length = 1000)]
    new_value: String,
    /// Why.
    #[schema(
        example = "Two passes were counted late",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
    /// What signing means (21 CFR 11.50(a)(3)).
    #[schema(example = "Correction reviewed", min_length = 1, max_length = 200)]
    meaning: String,
    /// The signer's password, asked for again (21 CFR 11.200).
    #[schema(value_type = Option<String>, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Option<Zeroizing<String>>,
    /// In place of the password, in a session that was begun so: the signer's badge and PIN.
    by_badge: Option<BadgeAndPin>,
}

impl Checked for AmendBody {
    fn check(&self, errors: &mut Fields) {
        let whole = self.part == RecordPart::Record;
        errors.require(
            self.part_id.is_none() == whole,
            "/part_id",
            "names the part; the record as a whole has none",
        );
        if let Some(field) = &self.field {
            errors.text("/field", field, 1, 40);
        }
        if let Some(old) = &self.old_value {
            let fits = self.field.is_some() && old.chars().count() <= 10_000;
            errors.require(fits, "/old_value", "is the value of a named field");
        }
        errors.text("/new_value", &self.new_value, 1, 1000);
        errors.text("/reason", &self.reason, 3, 500);
        errors.text("/meaning", &self.meaning, 1, 200);
        errors.signer(self.password.as_deref(), self.by_badge.as_ref());
    }
}

impl From<AmendCaseRefusal> for ApiError {
    fn from(refusal: AmendCaseRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let because = |problem| ApiError::new(problem).detail(&detail);
        let field = |pointer| ApiError::fields(vec![FieldError::new(pointer, &detail)]);
        match refusal {
            AmendCaseRefusal::NoSuchCase => ApiError::no_such("case"),
            AmendCaseRefusal::NotSigned => because(&catalogue::OUT_OF_ORDER),
            AmendCaseRefusal::NoSuchPart => field("/part_id"),
            AmendCaseRefusal::NoSuchField => field("/field"),
            AmendCaseRefusal::OldDiffers => field("/old_value"),
            AmendCaseRefusal::SameAgain => field("/new_value"),
            AmendCaseRefusal::NotAPerson => because(&catalogue::FORBIDDEN),
        }
    }
}

/// Corrects a signed case: the signed record stays as it is, the amendment stands beside it with old
/// and new value, reason and signature.
#[utoipa::path(
    operation_id = "amend_case", tag = "cases", request_body = AmendBody,
    params(("case" = Uuid, Path, description = "The case."), IdempotencyKey),
    responses((status = 201, description = "Amended.", body = Amendment), Refusals),
)]
#[post("/v1/cases/{case}/amendments")]
pub(super) async fn amend_case(
    allowed: Allowed<act::AmendCase>,
    app: Data<App>,
    http: HttpRequest,
    case: Path<Uuid>,
    keyed: Keyed<AmendBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let proof = (body.password, body.by_badge);
    secret::prove_signer(&app, &http, &allowed.caller, proof).await?;
    let operation = store::AmendCase {
        case: case.into_inner(),
        part: body.part,
        part_id: body.part_id,
        field: body.field,
        old_value: body.old_value,
        new_value: body.new_value,
        reason: body.reason,
        meaning: body.meaning,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |amendment, receipt| {
            let answer = Amendment::from(amendment);
            render(StatusCode::CREATED, &answer, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
