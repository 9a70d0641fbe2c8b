//! `POST /v1/stock/sweeps`

use super::item_body::ItemAtPlace;
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
use lotwarden_domain::cases::SweepOutcome;
use lotwarden_store::moment::instant_text;
use lotwarden_store::stock::{MOST_SWEPT, SweepDisposition, SweepStock, SweepStockRefusal, Swept};
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use utoipa::ToSchema;
use uuid::Uuid;

/// What expires and leaves the shelf: all that is there of each lot at each place.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SweepBody {
    /// Days from today within which the outdate falls; 0 for what is past it.
    #[schema(example = 30, minimum = 0, maximum = 366)]
    within_days: u16,
    /// The lots with their places.
    #[schema(min_items = 1, max_items = 200)]
    stock: Vec<SweptLotBody>,
    /// `quarantined`, `sent_back` or `destroyed`.
    #[schema(value_type = String, example = "quarantined", pattern = "^(quarantined|sent_back|destroyed)$")]
    disposition: SweepOutcome,
    /// The place for held items; goes with `quarantined`.
    to_id: Option<Uuid>,
    /// Who saw it; goes with `destroyed`, and is another person than the one who records it.
    witness_id: Option<Uuid>,
    /// How it was destroyed, the tracking number, or where it waits.
    #[schema(example = "Cabinet B, top", min_length = 1, max_length = 200)]
    note: String,
}

/// A lot at a place.
#[derive(Debug, Deserialize, ToSchema, PartialEq, Eq, PartialOrd, Ord)]
#[serde(deny_unknown_fields)]
pub struct SweptLotBody {
    /// The lot.
    lot_id: Uuid,
    /// The place.
    location_id: Uuid,
}

impl Checked for SweepBody {
    fn check(&self, errors: &mut Fields) {
        let days = self.within_days <= 366;
        errors.require(days, "/within_days", "must be 0 to 366");
        let fits = (1..=MOST_SWEPT).contains(&self.stock.len());
        errors.require(fits, "/stock", "must be 1 to 200 lots");
        let distinct: BTreeSet<_> = self.stock.iter().collect();
        let once = distinct.len() == self.stock.len();
        errors.require(once, "/stock", "must name each lot and place once");
        let quarantined = self.disposition == SweepOutcome::Quarantined;
        let place = self.to_id.is_some() == quarantined;
        errors.require(place, "/to_id", "goes with quarantined, and only with it");
        let destroyed = self.disposition == SweepOutcome::Destroyed;
        let seen = self.witness_id.is_some() == destroyed;
        errors.require(seen, "/witness_id", "goes with destroyed, and only with it");
        errors.text("/note", &self.note, 1, 200);
    }
}

/// What was swept, as a list to print.
#[derive(Debug, Serialize, ToSchema)]
pub struct SweptShown {
    /// The sweep.
    id: Uuid,
    /// When.
    #[schema(format = DateTime)]
    swept_at: String,
    /// A lot or piece a line.
    lines: Vec<SweptLine>,
}

/// One line of what was swept.
#[derive(Debug, Serialize, ToSchema)]
pub struct SweptLine {
    /// The item.
    #[serde(flatten)]
    item: ItemAtPlace,
    /// Where it stood.
    location_id: Uuid,
    /// Units of use.
    #[schema(example = 4)]
    quantity: i32,
}

impl From<&Swept> for SweptShown {
    fn from(swept: &Swept) -> Self {
        let line = |(item, location_id, quantity): &(_, Uuid, i32)| SweptLine {
            item: ItemAtPlace::from(item),
            location_id: *location_id,
            quantity: *quantity,
        };
        Self {
            id: swept.id,
            swept_at: instant_text(swept.at),
            lines: swept.lines.iter().map(line).collect(),
        }
    }
}

impl From<SweepStockRefusal> for ApiError {
    fn from(refusal: SweepStockRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let pointer = match refusal {
            SweepStockRefusal::NotDue { at } | SweepStockRefusal::NotThere { at } => {
                format!("/stock/{at}")
            }
            SweepStockRefusal::NoQuarantine => "/to_id".to_owned(),
            SweepStockRefusal::NoWitness => "/witness_id".to_owned(),
        };
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    }
}

/// Takes what is past its outdate, or will be within days, off the shelf.
#[utoipa::path(
    operation_id = "sweep_stock", tag = "stock", request_body = SweepBody,
    params(IdempotencyKey),
    responses((status = 201, description = "Off the shelf.", body = SweptShown), Refusals),
)]
#[post("/v1/stock/sweeps")]
pub(super) async fn sweep_stock(
    allowed: Allowed<act::SweepStock>,
    app: Data<App>,
    keyed: Keyed<SweepBody>,
) -> Result<HttpResponse, ApiError> {
    let body = keyed.body;
    // The place and the witness go with their word; the check of the body said so.
    let disposition = match body.disposition {
        SweepOutcome::Quarantined => SweepDisposition::Quarantined {
            place: body.to_id.unwrap_or_default(),
        },
        SweepOutcome::SentBack => SweepDisposition::SentBack,
        SweepOutcome::Destroyed => SweepDisposition::Destroyed {
            witness: body.witness_id.unwrap_or_default(),
        },
    };
    let operation = SweepStock {
        within_days: body.within_days,
        stock: body
            .stock
            .iter()
            .map(|one| (one.lot_id, one.location_id))
            .collect(),
        disposition,
        note: body.note,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |swept, receipt| render(StatusCode::CREATED, &SweptShown::from(swept), receipt, None),
    );
    Ok(reply(recorded.await?))
}
