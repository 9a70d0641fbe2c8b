//! `POST /v1/ledger/parcels`

use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::ledger::ExportParcel;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// What a parcel is for.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ParcelBody {
    /// Why; never a patient's identity.
    #[schema(
        example = "Inspection of 24 November",
        min_length = 3,
        max_length = 500
    )]
    reason: String,
    /// Whether it discloses the values behind the entries' commitments: patients' identities and
    /// the characters of unread scans.
    #[serde(default)]
    with_identity: bool,
}

impl Checked for ParcelBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/reason", &self.reason, 3, 500);
    }
}

/// A parcel that was bound to the ledger.
#[derive(Debug, Serialize, ToSchema)]
pub struct Parcel {
    /// The position of its export entry, which is its last one; the parcel's id.
    #[schema(example = 4711)]
    position: u64,
    /// Where its bytes can be fetched.
    #[schema(example = "/v1/ledger/parcels/4711")]
    download: String,
    /// Whether it discloses the values behind the entries' commitments.
    with_identity: bool,
    /// How many entries it has.
    entries: u64,
    /// How many cases.
    cases: u64,
    /// How many signatures.
    signatures: u64,
    /// How many people.
    people: u64,
    /// The SHA-256 of its sections `cases`, `signatures` and `people`, as the entry binds it.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    attachments: String,
}

/// Exports the whole ledger so far: an entry binds every case, signature and person as of now, and
/// the file, which verifies without this service, can be fetched from `download` as often as wanted.
#[utoipa::path(
    operation_id = "export_parcel", tag = "ledger", request_body = ParcelBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Bound to the ledger.", body = Parcel), Refusals),
)]
#[post("/v1/ledger/parcels")]
pub(super) async fn export_parcel(
    allowed: Allowed<act::ExportParcel>,
    app: Data<App>,
    keyed: Keyed<ParcelBody>,
) -> Result<HttpResponse, ApiError> {
    let ParcelBody {
        reason,
        with_identity,
    } = keyed.body;
    let operation = ExportParcel {
        with_identity,
        reason,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        move |exported, receipt| {
            let parcel = Parcel {
                position: receipt.position,
                download: format!("/v1/ledger/parcels/{}", receipt.position),
                with_identity,
                entries: exported.entries,
                cases: exported.cases,
                signatures: exported.signatures,
                people: exported.people,
                attachments: exported.attachments.to_string(),
            };
            render(StatusCode::CREATED, &parcel, receipt, None)
        },
    );
    Ok(reply(recorded.await?))
}
