//! `POST /v1/stock/moves`

use super::item_body::{ItemAtPlace, ItemBody, place_named, scanned};
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::stock::{MoveStock, MoveStockRefusal, Moved};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

/// Stock that is put elsewhere: the item by its label or its lot, the place by its id or its label.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MoveBody {
    /// The item.
    item: ItemBody,
    /// Packages with the scanned label, or units of the lot; 1 for a piece.
    #[serde(default = "one")]
    #[schema(example = 1, minimum = 1, maximum = 1_000_000, default = 1)]
    quantity: u32,
    /// Where it stands; needed when it stands at several places.
    from_id: Option<Uuid>,
    /// Where it is put.
    to_id: Option<Uuid>,
    /// Where it is put, as the label of the place was scanned.
    #[schema(
        example = "]d291002118367025421473846528490123456789",
        min_length = 1,
        max_length = 4096
    )]
    to_text: Option<String>,
    /// The station where it was scanned; its setting says what stands for the separator.
    station_id: Option<Uuid>,
}

const fn one() -> u32 {
    1
}

impl Checked for MoveBody {
    fn check(&self, errors: &mut Fields) {
        self.item.check("/item", errors);
        let counted = (1..=1_000_000).contains(&self.quantity);
        errors.require(counted, "/quantity", "must be 1 to 1000000");
        let one = self.to_id.is_some() != self.to_text.is_some();
        errors.require(one, "/to_id", "must have either to_id or to_text");
        scanned(&self.to_text, "/to_text", errors);
    }
}

/// What was moved.
#[derive(Debug, Serialize, ToSchema)]
pub struct MovedShown {
    /// The move.
    id: Uuid,
    /// The item.
    #[serde(flatten)]
    item: ItemAtPlace,
    /// Where it stood.
    from_id: Uuid,
    /// Where it stands.
    to_id: Uuid,
    /// Units of use.
    #[schema(example = 4)]
    quantity: i32,
}

impl From<&Moved> for MovedShown {
    fn from(moved: &Moved) -> Self {
        Self {
            id: moved.id,
            item: (&moved.item).into(),
            from_id: moved.from,
            to_id: moved.to,
            quantity: moved.quantity,
        }
    }
}

impl From<MoveStockRefusal> for ApiError {
    fn from(refusal: MoveStockRefusal) -> Self {
        let pointer = match refusal {
            MoveStockRefusal::NoSuchItem => "/item",
            MoveStockRefusal::NoSuchLocation | MoveStockRefusal::SamePlace => "/to_id",
            MoveStockRefusal::PieceIsOne
            | MoveStockRefusal::NotThere
            | MoveStockRefusal::TooMany => "/quantity",
            MoveStockRefusal::SeveralPlaces => "/from_id",
        };
        let detail = sentence(&refusal.to_string());
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    }
}

/// Moves stock to another place.
#[utoipa::path(
    operation_id = "move_stock", tag = "stock", request_body = MoveBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Moved.", body = MovedShown), Refusals),
)]
#[post("/v1/stock/moves")]
pub(super) async fn move_stock(
    allowed: Allowed<act::MoveStock>,
    app: Data<App>,
    keyed: Keyed<MoveBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let circumstances = app.circumstances(&mut reading, body.station_id).await?;
    drop(reading);
    let to = place_named(
        body.to_id,
        body.to_text.as_deref(),
        "/to_text",
        &circumstances,
    )?;
    let operation = MoveStock {
        item: body.item.read("/item", &circumstances)?,
        quantity: body.quantity,
        from: body.from_id,
        to,
    };
    let mut request = keyed.request;
    request.station = body.station_id;
    let recorded = app
        .recorder
        .record(&allowed.grant, request, operation, |moved, receipt| {
            render(StatusCode::CREATED, &MovedShown::from(moved), receipt, None)
        });
    Ok(reply(recorded.await?))
}
