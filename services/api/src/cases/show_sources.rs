//! `GET /v1/cases/{case}/sources`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use crate::where_used::{CylinderThrough, LoadThrough, MixThrough};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::cases as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What went into a case, back to receipt.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sources {
    /// The lots on the case, in the order they were scanned.
    lots: Vec<SourceLot>,
    /// Its mixes, a line for each ingredient lot.
    mixes: Vec<MixThrough>,
    /// The fills of gas that flowed on it.
    cylinders: Vec<CylinderThrough>,
    /// The load each of its reusable pieces came from.
    loads: Vec<LoadThrough>,
}

/// A lot on the case.
#[derive(Debug, Serialize, ToSchema)]
pub struct SourceLot {
    /// The scan.
    scan_id: Uuid,
    /// The product.
    product_id: Uuid,
    /// Its name.
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The piece.
    #[serde(skip_serializing_if = "Option::is_none")]
    unit_id: Option<Uuid>,
    /// The deliveries that brought it in, oldest first; none for what was never received.
    receipts: Vec<SourceReceipt>,
}

/// A delivery.
#[derive(Debug, Serialize, ToSchema)]
pub struct SourceReceipt {
    /// The receipt.
    receipt_id: Uuid,
    /// When.
    #[schema(format = DateTime)]
    received_at: String,
}

impl From<&store::Sources> for Sources {
    fn from(sources: &store::Sources) -> Self {
        let through = &sources.through;
        Self {
            lots: sources.lots.iter().map(SourceLot::from).collect(),
            mixes: through.mixes.iter().map(MixThrough::from).collect(),
            cylinders: through
                .cylinders
                .iter()
                .map(CylinderThrough::from)
                .collect(),
            loads: through.loads.iter().map(LoadThrough::from).collect(),
        }
    }
}

impl From<&store::SourceLot> for SourceLot {
    fn from(lot: &store::SourceLot) -> Self {
        let receipts = lot.receipts.iter().map(|(id, at)| SourceReceipt {
            receipt_id: *id,
            received_at: instant_text(*at),
        });
        Self {
            scan_id: lot.scan,
            product_id: lot.product.0,
            product_name: lot.product.1.clone(),
            lot_id: lot.lot.0,
            lot: lot.lot.1.clone(),
            unit_id: lot.unit,
            receipts: receipts.collect(),
        }
    }
}

/// Shows what went into a case, back to receipt: lots, mixes with their ingredients, fills of gas,
/// and the sterilizer load of each reusable piece. Without patient identity.
#[utoipa::path(
    operation_id = "show_sources", tag = "cases",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "What went into it.", body = Sources), Refusals),
)]
#[get("/v1/cases/{case}/sources")]
pub(super) async fn show_sources(
    allowed: Allowed<act::ShowSources>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let sources = store::show_sources(&mut reading, case.into_inner()).await?;
    let sources = sources.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(Sources::from(&sources)))
}
