//! `GET /v1/witnesses`

use super::Allowed;
use crate::app::App;
use crate::cases::Named;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::act;
use lotwarden_store::access as store;

/// Lists who can witness what the caller destroys, by name; nothing else of their accounts.
#[utoipa::path(
    operation_id = "list_witnesses", tag = "access", params(Paging),
    responses((status = 200, description = "A page of people.", body = List<Named>), Refusals),
)]
#[get("/v1/witnesses")]
pub(super) async fn list_witnesses(
    allowed: Allowed<act::ListWitnesses>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let caller = &allowed.caller;
    let mut reading = app.reading(caller.facility).await?;
    let now = app.recorder.clock().now();
    let page = store::witnesses(&mut reading, paging.after()?, now, caller.person).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |person| {
        Named::from(&(person.id, person.name))
    })))
}
