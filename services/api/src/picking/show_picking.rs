//! `GET /v1/cases/{case}/picking`

use crate::access::Allowed;
use crate::app::App;
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, get};
use jiff::civil::Date;
use lotwarden_domain::access::act;
use lotwarden_store::picking as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What is to be taken for a case.
#[derive(Debug, Serialize, ToSchema)]
pub struct PickingList {
    /// The case's version that this was computed from: sent as `If-Match` with what was taken out,
    /// nothing is recorded when somebody else recorded something meanwhile.
    version: i32,
    /// The list of the procedure; none when it has none, and then nothing can be said.
    #[serde(skip_serializing_if = "Option::is_none")]
    list_id: Option<Uuid>,
    /// What the list asks for.
    lines: Vec<PickingLine>,
    /// Where to take it from, by the places' names; of each product the lot that expires first.
    from: Vec<PickFrom>,
}

/// A line of the list.
#[derive(Debug, Serialize, ToSchema)]
pub struct PickingLine {
    /// The product's name, or the kind.
    name: String,
    /// The product; none for any product of a kind.
    #[serde(skip_serializing_if = "Option::is_none")]
    product_id: Option<Uuid>,
    /// To open.
    open: i64,
    /// To have available and not open.
    hold: i64,
    /// Taken out or on the case already.
    taken: i64,
    /// What nothing can be taken for.
    short: i64,
}

/// So many of a lot from a place.
#[derive(Debug, Serialize, ToSchema)]
pub struct PickFrom {
    /// The line it is for, from 0.
    line: usize,
    /// The place.
    location_id: Uuid,
    /// Its name.
    #[schema(example = "Shelf 3")]
    location_name: String,
    /// The product.
    product_id: Uuid,
    /// Its name.
    product_name: String,
    /// The lot.
    lot_id: Uuid,
    /// Its number, exactly as printed.
    #[serde(skip_serializing_if = "Option::is_none")]
    lot: Option<String>,
    /// The last usable day.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<String>, format = Date)]
    expires_on: Option<Date>,
    /// Units of use.
    quantity: i64,
    /// Whether it stands in for what the list asks for; a person has to agree.
    substitute: bool,
}

impl From<&store::PickingList> for PickingList {
    fn from(picking: &store::PickingList) -> Self {
        let line = |line: &store::PickingLine| PickingLine {
            name: line.name.clone(),
            product_id: line.product,
            open: line.open,
            hold: line.hold,
            taken: line.taken,
            short: line.short,
        };
        let from = |from: &store::PickFrom| PickFrom {
            line: from.line,
            location_id: from.location.0,
            location_name: from.location.1.clone(),
            product_id: from.product.0,
            product_name: from.product.1.clone(),
            lot_id: from.lot.0,
            lot: from.lot.1.clone(),
            expires_on: from.expires_on,
            quantity: from.quantity,
            substitute: from.substitute,
        };
        Self {
            version: picking.version,
            list_id: picking.list,
            lines: picking.lines.iter().map(line).collect(),
            from: picking.from.iter().map(from).collect(),
        }
    }
}

/// Shows what is to be taken for a case by the list of its procedure, and from where: usable on the
/// day of the case, not on hold, not named by a notice, first expired first out.
#[utoipa::path(
    operation_id = "show_picking", tag = "records",
    params(("case" = Uuid, Path, description = "The case.")),
    responses((status = 200, description = "The picking list.", body = PickingList), Refusals),
)]
#[get("/v1/cases/{case}/picking")]
pub(super) async fn show_picking(
    allowed: Allowed<act::ShowPicking>,
    app: Data<App>,
    case: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let mut reading = app.reading(facility.id).await?;
    let picking = store::show_picking(&mut reading, &facility, case.into_inner()).await?;
    let picking = picking.ok_or_else(|| ApiError::no_such("case"))?;
    Ok(HttpResponse::Ok().json(PickingList::from(&picking)))
}
