//! `POST /v1/locations/{location}/counts`

use super::item_body::ItemBody;
use super::shelf_counts::ShelfCountShown;
use crate::access::Allowed;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, FieldError, Refusals, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::stock::{CountShelf, CountShelfRefusal, MOST_COUNTED};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What was found at a place. What stands there on record and is not named was not found; an item
/// that is named twice was found twice.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShelfCountBody {
    /// What was found.
    #[schema(max_items = 1000)]
    lines: Vec<FoundBody>,
    /// The station where it was scanned; its setting says what stands for the separator.
    station_id: Option<Uuid>,
}

/// One item that was found.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FoundBody {
    /// The item.
    item: ItemBody,
    /// Packages with the scanned label, or units of the lot.
    #[schema(example = 11, minimum = 0, maximum = 1_000_000)]
    counted: u32,
}

impl Checked for ShelfCountBody {
    fn check(&self, errors: &mut Fields) {
        let few = self.lines.len() <= MOST_COUNTED;
        errors.require(few, "/lines", "must be at most 1000 lines");
        for (at, line) in self.lines.iter().enumerate().take(MOST_COUNTED) {
            line.item.check(&format!("/lines/{at}/item"), errors);
            let pointer = format!("/lines/{at}/counted");
            errors.require(line.counted <= 1_000_000, &pointer, "must be 0 to 1000000");
        }
    }
}

impl From<CountShelfRefusal> for ApiError {
    fn from(refusal: CountShelfRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        let pointer = match refusal {
            CountShelfRefusal::NoSuchLocation => return ApiError::no_such("place"),
            CountShelfRefusal::NoSuchItem { line } => format!("/lines/{line}/item"),
            CountShelfRefusal::TooMany { line } => format!("/lines/{line}/counted"),
        };
        ApiError::fields(vec![FieldError::new(pointer, detail)])
    }
}

/// Puts on record what a person found at a place; the record of the stock stays as it is.
#[utoipa::path(
    operation_id = "count_shelf", tag = "stock", request_body = ShelfCountBody,
    params(("location" = Uuid, Path, description = "The place."), IdempotencyKey),
    responses((status = 201, description = "On record.", body = ShelfCountShown), Refusals),
)]
#[post("/v1/locations/{location}/counts")]
pub(super) async fn count_shelf(
    allowed: Allowed<act::CountShelf>,
    app: Data<App>,
    location: Path<Uuid>,
    keyed: Keyed<ShelfCountBody>,
) -> Result<HttpResponse, ApiError> {
    let ShelfCountBody { lines, station_id } = keyed.body;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let circumstances = app.circumstances(&mut reading, station_id).await?;
    drop(reading);
    let mut found = Vec::with_capacity(lines.len());
    for (at, line) in lines.into_iter().enumerate() {
        let item = line.item.read(&format!("/lines/{at}/item"), &circumstances);
        found.push((item?, line.counted));
    }
    let operation = CountShelf {
        location: location.into_inner(),
        found,
    };
    let mut request = keyed.request;
    request.station = station_id;
    let recorded = app
        .recorder
        .record(&allowed.grant, request, operation, |count, receipt| {
            let shown = ShelfCountShown::from(count);
            render(StatusCode::CREATED, &shown, receipt, None)
        });
    Ok(reply(recorded.await?))
}
