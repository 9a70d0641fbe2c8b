//! `GET /v1/locations`

use crate::access::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_domain::cases::LocationKind;
use lotwarden_store::stock as store;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A place where stock is kept or used.
#[derive(Debug, Serialize, ToSchema)]
pub struct Location {
    /// The place.
    id: Uuid,
    /// Its name.
    #[schema(example = "Procedure room 2")]
    name: String,
    /// `room`, `shelf`, `dock` or `quarantine`.
    #[schema(value_type = String, example = "room")]
    kind: LocationKind,
}

impl From<&store::Location> for Location {
    fn from(place: &store::Location) -> Self {
        Self {
            id: place.id,
            name: place.name.clone(),
            kind: place.kind,
        }
    }
}

/// Lists places in the order they were added.
#[utoipa::path(
    operation_id = "list_locations", tag = "stock", params(Paging),
    responses((status = 200, description = "A page of places.", body = List<Location>), Refusals),
)]
#[get("/v1/locations")]
pub(super) async fn list_locations(
    allowed: Allowed<act::ListLocations>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let after = paging.after()?;
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list_locations(&mut reading, after).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |place| Location::from(&place))))
}
