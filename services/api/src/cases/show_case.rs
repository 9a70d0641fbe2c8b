//! `GET /v1/cases/{case}`

use super::Case;
use super::amendment::Amendment;
use crate::access::Allowed;
use crate::app::App;
use crate::http::tagged;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::{Disposition, Verdict};
use lotwarden_store::cases as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use std::collections::BTreeMap;
use utoipa::ToSchema;
use uuid::Uuid;

/// A case with what is on it, in numbers, and its signatures.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseShown {
    /// The case.
    #[serde(flatten)]
    case: Case,
    /// What is on it.
    counts: CaseCounts,
    /// The SHA-256 of its record as it stands, in lower-case hex.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
    /// Its signatures, oldest first.
    signatures: Vec<Signature>,
    /// Its amendments, oldest first: the signed record stays as it is, and they stand beside it.
    amendments: Vec<Amendment>,
}

/// How many scans and items a case has; struck scans count as struck only.
#[derive(Debug, Serialize, ToSchema)]
pub struct CaseCounts {
    /// Scans by verdict: `taken`, `look`, `stop`, `unread`.
    #[schema(value_type = BTreeMap<String, u64>, example = json!({"taken": 6, "look": 1}))]
    scans: BTreeMap<Verdict, u64>,
    /// Items by what became of them: `used`, `wasted`, `opened_unused`, `returned`, `failed`.
    #[schema(value_type = BTreeMap<String, u64>, example = json!({"used": 6, "wasted": 1}))]
    items: BTreeMap<Disposition, u64>,
    /// Scans taken back.
    struck: u64,
}

/// A signature (21 CFR 11.50): name, time, meaning, and the record it is over.
#[derive(Debug, Serialize, ToSchema)]
pub struct Signature {
    /// The signature.
    id: Uuid,
    /// The signer.
    person_id: Uuid,
    /// The signer's printed name.
    name: String,
    /// What signing meant.
    meaning: String,
    /// The SHA-256 of the record as it was signed.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    record_hash: String,
    /// The form of the record whose hash it is: 1 is the case with its scans, 2 the case with
    /// everything on it.
    #[schema(example = 2)]
    record_version: i16,
    /// When.
    #[schema(format = DateTime)]
    signed_at: String,
    /// The position of its ledger entry.
    position: u64,
    /// Whether the record still has the hash that was signed. A later scan, which is stopped, is a
    /// change too.
    unchanged: bool,
}

impl From<&store::Signature> for Signature {
    fn from(signature: &store::Signature) -> Self {
        Self {
            id: signature.id,
            person_id: signature.person,
            name: signature.name.clone(),
            meaning: signature.meaning.clone(),
            record_hash: signature.record_hash.to_string(),
            record_version: signature.record_version,
            signed_at: instant_text(signature.signed_at),
            position: signature.position,
            unchanged: signature.unchanged,
        }
    }
}

impl From<store::CaseShown> for CaseShown {
    fn from(shown: store::CaseShown) -> Self {
        let store::CaseCounts {
            scans,
            items,
            struck,
        } = shown.counts;
        Self {
            case: Case::from(&shown.case),
            counts: CaseCounts {
                scans,
                items,
                struck,
            },
            record_hash: shown.record_hash.to_string(),
            signatures: shown.signatures.iter().map(Signature::from).collect(),
            amendments: shown.amendments.iter().map(Amendment::from).collect(),
        }
    }
}

/// Shows a case with its counts and signatures, without the patient's identity.
#[utoipa::path(
    operation_id = "show_case", tag = "cases",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The case.", body = CaseShown), Refusals),
)]
#[get("/v1/cases/{case}")]
pub(super) async fn show_case(
    allowed: Allowed<act::ShowCase>,
    app: Data<App>,
    request: HttpRequest,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let shown = store::show(&mut reading, case.into_inner()).await?;
    let shown = shown.ok_or_else(|| ApiError::no_such("case"))?;
    let version = shown.case.version;
    Ok(tagged(&request, version, &CaseShown::from(shown)))
}
