//! `GET /v1/practitioners`

use super::Allowed;
use crate::app::App;
use crate::cases::Named;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::access as store;

/// Lists the practitioners a case can be opened for, by name; nothing else of their accounts.
#[utoipa::path(
    operation_id = "list_practitioners", tag = "access", params(Paging),
    responses((status = 200, description = "A page of practitioners.", body = List<Named>), Refusals),
)]
#[get("/v1/practitioners")]
pub(super) async fn list_practitioners(
    allowed: Allowed<act::ListPractitioners>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let now = app.recorder.clock().now();
    let page = store::practitioners(&mut reading, paging.after()?, now).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |person| {
        Named::from(&(person.id, person.name))
    })))
}
