//! `POST /v1/cases/{case}/sign`

use crate::access::Allowed;
use crate::access::secret::{self, SignBody};
use crate::app::App;
use crate::http::answer::render;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::cases::{self as store, SignCaseRefusal};
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A signature that was just made.
#[derive(Debug, Serialize, ToSchema)]
pub struct Signed {
    /// The signature.
    id: Uuid,
    /// The case.
    case_id: Uuid,
    /// The signer.
    person_id: Uuid,
    /// The signer's printed name.
    name: String,
    /// What signing meant.
    meaning: String,
    /// The SHA-256 of the record that is signed.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
    /// The form of the record whose hash it is: 1 is the case with its scans, 2 the case with
    /// everything on it.
    #[schema(example = 2)]
    record_version: i16,
    /// When.
    #[schema(format = DateTime)]
    signed_at: String,
}

impl From<&store::Signed> for Signed {
    fn from(signed: &store::Signed) -> Self {
        Self {
            id: signed.id,
            case_id: signed.case,
            person_id: signed.person,
            name: signed.name.clone(),
            meaning: signed.meaning.clone(),
            record_hash: signed.record_hash.to_string(),
            record_version: signed.record_version,
            signed_at: instant_text(signed.signed_at),
        }
    }
}

impl From<SignCaseRefusal> for ApiError {
    fn from(refusal: SignCaseRefusal) -> Self {
        let because = |problem| ApiError::new(problem).detail(sentence(&refusal.to_string()));
        match refusal {
            SignCaseRefusal::NoSuchCase => ApiError::no_such("case"),
            SignCaseRefusal::Stale => ApiError::new(&catalogue::STALE),
            SignCaseRefusal::NotCompleted(_) => because(&catalogue::CASE_CLOSED),
            SignCaseRefusal::SignedAlready => because(&catalogue::ALREADY_DONE),
            SignCaseRefusal::NotAPerson => because(&catalogue::FORBIDDEN),
        }
    }
}

/// Signs the record of a completed case as it stands; nothing on the case changes from then on.
#[utoipa::path(
    operation_id = "sign_case", tag = "cases", request_body = SignBody,
    params(("case" = Uuid, Path, description = "The case."), Change, IdempotencyKey),
    responses((status = 201, description = "Signed.", body = Signed), Refusals),
)]
#[post("/v1/cases/{case}/sign")]
pub(super) async fn sign_case(
    allowed: Allowed<act::SignCase>,
    app: Data<App>,
    http: HttpRequest,
    case: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<SignBody>,
) -> Result<HttpResponse, ApiError> {
    let SignBody {
        meaning,
        password,
        by_badge,
    } = keyed.body;
    secret::prove_signer(&app, &http, &allowed.caller, (password, by_badge)).await?;
    let operation = store::SignCase {
        case: case.into_inner(),
        version: version.0,
        meaning,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |signed, receipt| {
            let version = Some(signed.version);
            render(StatusCode::CREATED, &Signed::from(signed), receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
