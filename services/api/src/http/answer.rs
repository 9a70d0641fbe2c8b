//! Answers to requests that write.

use actix_web::HttpResponse;
use actix_web::http::StatusCode;
use actix_web::http::header::{CONTENT_TYPE, ETAG};
use lotwarden_store::{Answer, Receipt, Rendered};
use serde::Serialize;

/// Where the entry of what was done stands in the ledger.
#[derive(Clone, Debug, Serialize, utoipa::ToSchema)]
pub struct Recorded {
    /// The entry's position, from 0.
    #[schema(example = 4711)]
    pub position: u64,
    /// The entry's hash: SHA-256(0x00 || body) in lower-case hex.
    #[schema(
        example = "5d2f1c0e9f0d7e3f2a1b0c9d8e7f6a5b4c3d2e1f0a9b8c7d6e5f4a3b2c1d0e9f",
        pattern = "^[0-9a-f]{64}$"
    )]
    pub hash: String,
}

impl From<Receipt> for Recorded {
    fn from(receipt: Receipt) -> Self {
        Self {
            position: receipt.position,
            hash: receipt.hash.to_string(),
        }
    }
}

/// A body with the receipt of its entry beside it.
#[derive(Serialize)]
struct WithReceipt<'a, T: Serialize> {
    #[serde(flatten)]
    body: &'a T,
    entry: Recorded,
}

/// Renders an answer before its commit: the body, and `entry` with position and hash.
pub fn render(
    status: StatusCode,
    body: &impl Serialize,
    receipt: Receipt,
    version: Option<i32>,
) -> Rendered {
    let body = WithReceipt {
        body,
        entry: receipt.into(),
    };
    // Our own bodies are structs of strings and numbers; they always render.
    let body = serde_json::to_vec(&body).unwrap_or_default();
    Rendered {
        status: status.as_u16(),
        body,
        etag: version.map(|version| version.to_string()),
    }
}

/// Sends an answer; a repeated one says so.
pub fn reply(answer: Answer) -> HttpResponse {
    let Answer { rendered, replayed } = answer;
    let status = StatusCode::from_u16(rendered.status).unwrap_or(StatusCode::OK);
    let mut response = HttpResponse::build(status);
    response.insert_header((CONTENT_TYPE, "application/json"));
    if let Some(tag) = rendered.etag {
        response.insert_header((ETAG, format!("\"{tag}\"")));
    }
    if replayed {
        response.insert_header(("Idempotency-Replayed", "true"));
    }
    response.body(rendered.body)
}
