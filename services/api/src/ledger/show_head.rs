//! `GET /v1/ledger/head`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::Data;
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::ledger as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A ledger's newest state.
#[derive(Debug, Serialize, ToSchema)]
pub struct Head {
    /// The ledger, which is the facility.
    ledger_id: Uuid,
    /// How many entries it has.
    #[schema(example = 4712)]
    size: u64,
    /// The hash of its last entry; of an empty ledger, the published genesis.
    #[schema(pattern = "^[0-9a-f]{64}$")]
    hash: String,
    /// The time of its last entry.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    at: Option<String>,
}

/// Shows the newest state of the facility's ledger, to be kept elsewhere and compared later.
#[utoipa::path(
    operation_id = "show_head", tag = "ledger",
    responses((status = 200, description = "The head.", body = Head), Refusals),
)]
#[get("/v1/ledger/head")]
pub(super) async fn show_head(
    allowed: Allowed<act::ShowHead>,
    app: Data<App>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let head = store::show_head(&mut reading).await?;
    Ok(HttpResponse::Ok().json(Head {
        ledger_id: head.ledger,
        size: head.size,
        hash: head.hash.to_string(),
        at: head.at.map(instant_text),
    }))
}
