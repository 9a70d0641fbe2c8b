//! `GET /v1/locations/{location}/sheet`, `GET /v1/counts` and `GET /v1/counts/{count}`

use super::Location;
use super::item_body::ItemAtPlace;
use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Path, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::moment::instant_text;
use lotwarden_store::stock as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What is on record at a place, to count against.
#[derive(Debug, Serialize, ToSchema)]
pub struct CountSheet {
    /// The place.
    location: Location,
    /// A lot or piece a line, first to expire first.
    lines: Vec<SheetLine>,
}

/// One line of a count sheet.
#[derive(Debug, Serialize, ToSchema)]
pub struct SheetLine {
    /// The item.
    #[serde(flatten)]
    item: ItemAtPlace,
    /// Units of use that the record says are there.
    #[schema(example = 12)]
    expected: i32,
}

/// A count without its lines.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShelfCountSummary {
    /// The count.
    id: Uuid,
    /// The place.
    location_id: Uuid,
    /// Its name.
    #[schema(example = "Shelf 4")]
    location_name: String,
    /// Who counted.
    #[schema(example = "person:019353a4-7bb0-7c3e-8f54-0b6d1c2a9e10")]
    counted_by: String,
    /// When.
    #[schema(format = DateTime)]
    counted_at: String,
}

/// A count with its lines.
#[derive(Debug, Serialize, ToSchema)]
pub struct ShelfCountShown {
    /// The count.
    #[serde(flatten)]
    count: ShelfCountSummary,
    /// Lines whose numbers differ and are not in the record.
    #[schema(example = 1)]
    open_differences: usize,
    /// A lot or piece a line.
    lines: Vec<CountedLineShown>,
}

/// One line of a count.
#[derive(Debug, Serialize, ToSchema)]
pub struct CountedLineShown {
    /// The line, from 1.
    #[schema(example = 1)]
    line: i32,
    /// The item.
    #[serde(flatten)]
    item: ItemAtPlace,
    /// Units of use that the record said were there.
    #[schema(example = 12)]
    expected: i32,
    /// Units of use that were found.
    #[schema(example = 11)]
    counted: i32,
    /// Found less expected.
    #[schema(example = -1)]
    difference: i32,
    /// That the difference was taken into the record.
    #[serde(skip_serializing_if = "Option::is_none")]
    adjusted: Option<AdjustedShown>,
}

/// Who took a difference into the record, and why.
#[derive(Debug, Serialize, ToSchema)]
pub struct AdjustedShown {
    /// Who.
    by: String,
    /// When.
    #[schema(format = DateTime)]
    at: String,
    /// Why.
    #[schema(example = "Found behind the bin")]
    reason: String,
}

impl From<&store::ShelfCount> for ShelfCountSummary {
    fn from(count: &store::ShelfCount) -> Self {
        Self {
            id: count.id,
            location_id: count.location,
            location_name: count.location_name.clone(),
            counted_by: count.actor.clone(),
            counted_at: instant_text(count.at),
        }
    }
}

impl From<&store::ShelfCount> for ShelfCountShown {
    fn from(count: &store::ShelfCount) -> Self {
        let lines: Vec<CountedLineShown> = count.lines.iter().map(Into::into).collect();
        let open = |line: &&CountedLineShown| line.difference != 0 && line.adjusted.is_none();
        Self {
            open_differences: lines.iter().filter(open).count(),
            count: count.into(),
            lines,
        }
    }
}

impl From<&store::CountedLine> for CountedLineShown {
    fn from(line: &store::CountedLine) -> Self {
        Self {
            line: line.line,
            item: (&line.item).into(),
            expected: line.expected,
            counted: line.counted,
            difference: line.counted - line.expected,
            adjusted: line.adjusted.as_ref().map(|adjusted| AdjustedShown {
                by: adjusted.actor.clone(),
                at: instant_text(adjusted.at),
                reason: adjusted.reason.clone(),
            }),
        }
    }
}

/// Gives what is on record at a place, to count against.
#[utoipa::path(
    operation_id = "show_count_sheet", tag = "stock",
    params(("location" = Uuid, Path, description = "The place.")),
    responses((status = 200, description = "The sheet.", body = CountSheet), Refusals),
)]
#[get("/v1/locations/{location}/sheet")]
pub(super) async fn show_count_sheet(
    allowed: Allowed<act::ShowCountSheet>,
    app: Data<App>,
    location: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let sheet = store::show_count_sheet(&mut reading, location.into_inner()).await?;
    let (location, lines) = sheet.ok_or_else(|| ApiError::no_such("place"))?;
    let lines = lines.iter().map(|line| SheetLine {
        item: (&line.item).into(),
        expected: line.expected,
    });
    Ok(HttpResponse::Ok().json(CountSheet {
        location: (&location).into(),
        lines: lines.collect(),
    }))
}

/// Lists counts of places in the order they were made.
#[utoipa::path(
    operation_id = "list_shelf_counts", tag = "stock", params(Paging),
    responses((status = 200, description = "A page of counts.", body = List<ShelfCountSummary>), Refusals),
)]
#[get("/v1/counts")]
pub(super) async fn list_shelf_counts(
    allowed: Allowed<act::ListShelfCounts>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_shelf_counts(&mut reading, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |count| ShelfCountSummary::from(&count))))
}

/// Shows a count of a place: expected, found, and the differences with what became of them.
#[utoipa::path(
    operation_id = "show_shelf_count", tag = "stock",
    params(("count" = Uuid, Path, description = "The count.")),
    responses((status = 200, description = "The count.", body = ShelfCountShown), Refusals),
)]
#[get("/v1/counts/{count}")]
pub(super) async fn show_shelf_count(
    allowed: Allowed<act::ShowShelfCount>,
    app: Data<App>,
    count: Path<Uuid>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let count = store::show_shelf_count(&mut reading, count.into_inner()).await?;
    let count = count.ok_or_else(|| ApiError::no_such("count"))?;
    Ok(HttpResponse::Ok().json(ShelfCountShown::from(&count)))
}
