//! `GET /v1/ledger/entries`

use crate::access::Allowed;
use crate::app::App;
use crate::http::List;
use crate::http::lists::MOST;
use crate::problem::{ApiError, FieldError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use jiff::Timestamp;
use lotwarden_domain::access::act;
use lotwarden_store::ledger::{self as store, EntryFilter};
use serde::{Deserialize, Serialize};
use serde_json::value::RawValue;
use utoipa::{IntoParams, ToSchema};
use uuid::Uuid;

/// Which entries.
#[derive(Debug, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
pub struct Which {
    /// Only those of a case.
    case_id: Option<Uuid>,
    /// Only those of somebody, as the ledger writes it: `person:<id>`, `operator:<account>`.
    #[param(max_length = 200)]
    actor: Option<String>,
    /// Only those about something, as the ledger writes it: `product:<id>`, `scan:<id>`.
    #[param(max_length = 200)]
    subject: Option<String>,
    /// Only those of an action.
    #[param(example = "record_scan", max_length = 100)]
    action: Option<String>,
    /// Only those from an instant on.
    #[param(value_type = Option<String>, format = DateTime)]
    from: Option<Timestamp>,
    /// Only those before an instant.
    #[param(value_type = Option<String>, format = DateTime)]
    before: Option<Timestamp>,
    /// The `next` of the page before; none for the first page.
    cursor: Option<String>,
    /// Rows on the page, 1 to 200; 50 unless told.
    #[param(minimum = 1, maximum = 200)]
    limit: Option<u16>,
}

/// An entry of the ledger.
#[derive(Debug, Serialize, ToSchema)]
pub struct Entry {
    /// Its position, from 0.
    #[schema(example = 4711)]
    position: u64,
    /// SHA-256(0x00 || body) in lower-case hex.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    hash: String,
    /// The body, byte for byte as it is hashed: canonical JSON (RFC 8785).
    #[schema(value_type = Object)]
    body: Box<RawValue>,
}

/// Lists entries, oldest first. The body of each stands in the answer byte for byte.
#[utoipa::path(
    operation_id = "list_entries", tag = "ledger", params(Which),
    responses((status = 200, description = "A page of entries.", body = List<Entry>), Refusals),
)]
#[get("/v1/ledger/entries")]
pub(super) async fn list_entries(
    allowed: Allowed<act::ListEntries>,
    app: Data<App>,
    which: Query<Which>,
) -> Result<HttpResponse, ApiError> {
    let which = which.into_inner();
    let limit = which.limit.unwrap_or(50);
    if !(1..=MOST).contains(&limit) {
        return Err(refuse("limit", "must be 1 to 200"));
    }
    let after = which.cursor.as_deref().map(position).transpose()?;
    let texts = [&which.actor, &which.subject, &which.action];
    if texts.into_iter().flatten().any(|text| text.contains('\0')) {
        return Err(refuse("query", "must not hold U+0000"));
    }
    let filter = EntryFilter {
        case: which.case_id,
        actor: which.actor,
        subject: which.subject,
        action: which.action,
        from: which.from,
        before: which.before,
    };
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_entries(&mut reading, &filter, after, limit).await?;
    let items = page
        .items
        .into_iter()
        .map(Entry::of)
        .collect::<Result<_, _>>()?;
    let next = page.next.map(cursor);
    Ok(HttpResponse::Ok().json(List { items, next }))
}

impl Entry {
    fn of(entry: store::LedgerEntry) -> Result<Self, ApiError> {
        let body = RawValue::from_string(entry.body);
        Ok(Self {
            position: entry.position,
            hash: entry.hash.to_string(),
            body: body.map_err(|_| lotwarden_store::StoreError::Unfit)?,
        })
    }
}

fn refuse(parameter: &str, detail: &str) -> ApiError {
    ApiError::fields(vec![FieldError::new(parameter, detail)])
}

fn cursor(position: u64) -> String {
    URL_SAFE_NO_PAD.encode(position.to_be_bytes())
}

fn position(cursor: &str) -> Result<u64, ApiError> {
    let bytes = URL_SAFE_NO_PAD.decode(cursor).ok();
    let bytes: Option<[u8; 8]> = bytes.and_then(|bytes| bytes.try_into().ok());
    let position = bytes.map(u64::from_be_bytes);
    position
        .filter(|position| i64::try_from(*position).is_ok_and(|position| position < i64::MAX))
        .ok_or_else(|| refuse("cursor", "must be the next of an earlier page"))
}
