//! `PUT /v1/people/{person}`

use super::Allowed;
use super::people::Person;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{IfMatch, Keyed, reply};
use crate::openapi::{Change, IdempotencyKey};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpResponse, put};
use jiff::Timestamp;
use lotwarden_domain::access::{Role, act};
use lotwarden_store::access::{ChangePerson, ChangePersonRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

/// What can be changed about an account.
#[derive(Debug, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonChange {
    /// What the person is here for.
    #[schema(value_type = Vec<String>, example = json!(["circulator", "materials"]), min_items = 1)]
    roles: Vec<Role>,
    /// When the account ends; none for an account without an end.
    #[schema(value_type = Option<String>, format = DateTime)]
    ends_at: Option<Timestamp>,
}

impl Checked for PersonChange {
    fn check(&self, errors: &mut Fields) {
        errors.require(
            !self.roles.is_empty(),
            "/roles",
            "must name at least one role",
        );
    }
}

impl From<ChangePersonRefusal> for ApiError {
    fn from(refusal: ChangePersonRefusal) -> Self {
        match refusal {
            ChangePersonRefusal::NoSuchPerson => ApiError::no_such("person"),
            ChangePersonRefusal::Stale => ApiError::new(&catalogue::STALE),
            ChangePersonRefusal::InspectorNeedsEnd => {
                let detail = sentence(&refusal.to_string());
                ApiError::fields(vec![FieldError::new("/ends_at", detail)])
            }
        }
    }
}

/// Gives a person other roles, or another end of the account; open sessions end.
#[utoipa::path(
    operation_id = "change_person", tag = "access", request_body = PersonChange,
    params(("person" = Uuid, Path, description = "The person."), Change, IdempotencyKey),
    responses((status = 200, description = "Changed.", body = Person), Refusals),
)]
#[put("/v1/people/{person}")]
pub(super) async fn change_person(
    allowed: Allowed<act::ChangePerson>,
    app: Data<App>,
    person: Path<Uuid>,
    version: IfMatch,
    keyed: Keyed<PersonChange>,
) -> Result<HttpResponse, ApiError> {
    let PersonChange { roles, ends_at } = keyed.body;
    let operation = ChangePerson {
        id: person.into_inner(),
        version: version.0,
        roles,
        ends_at,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |person, receipt| {
            render(
                StatusCode::OK,
                &Person::from(person),
                receipt,
                Some(person.version),
            )
        },
    );
    let answer = recorded.await?;
    app.ended
        .learn(&app.recorder, allowed.caller.facility)
        .await?;
    Ok(reply(answer))
}
