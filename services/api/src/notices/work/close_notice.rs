//! `POST /v1/notices/{notice}/close`

use super::super::Notice;
use crate::access::Allowed;
use crate::access::secret::{self, SignBody};
use crate::app::App;
use crate::http::answer::render;
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::notices::work::{self as store, CloseNotice};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A signature under the closing of a notice.
#[derive(Debug, Serialize, ToSchema)]
pub struct ClosingSignature {
    /// The signer.
    person_id: Uuid,
    /// The signer's printed name.
    name: String,
    /// What signing meant.
    meaning: String,
    /// The SHA-256 of the record that is signed.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
}

impl From<&store::Signature> for ClosingSignature {
    fn from(signature: &store::Signature) -> Self {
        Self {
            person_id: signature.person,
            name: signature.name.clone(),
            meaning: signature.meaning.clone(),
            record_hash: signature.record_hash.clone(),
        }
    }
}

/// What came of a signature.
#[derive(Debug, Serialize, ToSchema)]
pub struct NoticeSigned {
    /// The notice; `open` after the first signature, `closed` after the second person's.
    #[serde(flatten)]
    notice: Notice,
    /// The signature.
    signature: ClosingSignature,
    /// Signatures under this record.
    signatures: usize,
}

/// Signs the record of a notice as it stands; the second person's signature under the same record
/// closes it. Everything but the closing has to be done, every patient decided, and every lot's
/// numbers closed or explained.
#[utoipa::path(
    operation_id = "close_notice", tag = "notices", request_body = SignBody,
    params(("notice" = Uuid, Path, description = "The notice."), Change, IdempotencyKey),
    responses((status = 201, description = "Signed.", body = NoticeSigned), Refusals),
)]
#[post("/v1/notices/{notice}/close")]
pub(super) async fn close_notice(
    allowed: Allowed<act::CloseNotice>,
    app: Data<App>,
    http: HttpRequest,
    notice: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<SignBody>,
) -> Result<HttpResponse, ApiError> {
    let SignBody {
        meaning,
        password,
        by_badge,
    } = keyed.body;
    secret::prove_signer(&app, &http, &allowed.caller, (password, by_badge)).await?;
    let operation = CloseNotice {
        notice: notice.into_inner(),
        version: version.0,
        meaning,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |closed, receipt| {
            let signed = NoticeSigned {
                notice: Notice::from(&closed.notice),
                signature: (&closed.signature).into(),
                signatures: closed.signatures,
            };
            let version = Some(closed.notice.version);
            render(StatusCode::CREATED, &signed, receipt, version)
        },
    );
    Ok(reply(recorded.await?))
}
