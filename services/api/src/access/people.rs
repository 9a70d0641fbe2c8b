//! `GET /v1/people`

use super::Allowed;
use crate::app::App;
use crate::http::{List, Paging};
use crate::problem::{ApiError, Refusals};
use actix_web::web::{Data, Query};
use actix_web::{HttpResponse, get};
use lotwarden_domain::access::{Role, act};
use lotwarden_store::access as store;
use lotwarden_store::moment::instant_text;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// A named account.
#[derive(Debug, Serialize, ToSchema)]
pub struct Person {
    /// The person.
    id: Uuid,
    /// The login.
    #[schema(example = "m.okafor")]
    login: String,
    /// The printed name.
    #[schema(example = "Mina Okafor")]
    name: String,
    /// What the person is here for.
    #[schema(value_type = Vec<String>, example = json!(["circulator"]))]
    roles: Vec<Role>,
    /// When the account ends.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(format = DateTime)]
    ends_at: Option<String>,
    /// Counts the changes; the entity tag.
    #[schema(example = 1)]
    version: i32,
}

impl From<&store::Person> for Person {
    fn from(person: &store::Person) -> Self {
        Self {
            id: person.id,
            login: person.login.clone(),
            name: person.name.clone(),
            roles: person.roles.clone(),
            ends_at: person.ends_at.map(instant_text),
            version: person.version,
        }
    }
}

/// Lists people and their roles.
#[utoipa::path(
    operation_id = "list_people", tag = "access", params(Paging),
    responses((status = 200, description = "A page of people.", body = List<Person>), Refusals),
)]
#[get("/v1/people")]
pub(super) async fn list_people(
    allowed: Allowed<act::ListPeople>,
    app: Data<App>,
    paging: Query<Paging>,
) -> Result<HttpResponse, ApiError> {
    let mut reading = app.reading(allowed.caller.facility).await?;
    let page = store::list(&mut reading, paging.after()?).await?;
    Ok(HttpResponse::Ok().json(List::of(page, |person| Person::from(&person))))
}
