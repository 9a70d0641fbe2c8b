//! `POST /v1/people`

use super::Allowed;
use super::passwords::{self, Account};
use super::people::Person;
use super::secret::new_password;
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::problem::{ApiError, FieldError, Refusals, catalogue, sentence};
use actix_web::http::StatusCode;
use actix_web::web::Data;
use actix_web::{HttpResponse, post};
use jiff::Timestamp;
use lotwarden_domain::access::{Role, act};
use lotwarden_store::access::{AddPerson, AddPersonRefusal};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// A new account.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PersonBody {
    /// Lower-case letters, digits, `.`, `_` and `-`; never given to a second person.
    #[schema(example = "m.okafor", pattern = "^[a-z0-9][a-z0-9._-]{1,63}$")]
    login: String,
    /// The printed name.
    #[schema(example = "Mina Okafor", min_length = 1, max_length = 200)]
    name: String,
    /// What the person is here for.
    #[schema(value_type = Vec<String>, example = json!(["circulator"]), min_items = 1)]
    roles: Vec<Role>,
    /// 15 characters or more; any characters, no forced change.
    #[schema(value_type = String, format = Password, example = "three quiet otters 41", min_length = 15, max_length = 256)]
    password: Zeroizing<String>,
    /// When the account ends; an inspector's has to.
    #[schema(value_type = Option<String>, format = DateTime)]
    ends_at: Option<Timestamp>,
}

impl Checked for PersonBody {
    fn check(&self, errors: &mut Fields) {
        let plain = |letter: char| matches!(letter, 'a'..='z' | '0'..='9' | '.' | '_' | '-');
        let fits = (2..=64).contains(&self.login.len())
            && self.login.chars().all(plain)
            && self
                .login
                .starts_with(|letter: char| letter.is_ascii_alphanumeric());
        errors.require(
            fits,
            "/login",
            "must be 2 to 64 of a-z, 0-9, '.', '_' and '-', and start with a letter or digit",
        );
        errors.text("/name", &self.name, 1, 200);
        errors.require(
            !self.roles.is_empty(),
            "/roles",
            "must name at least one role",
        );
        if let Some(fault) = passwords::length_fault(&self.password) {
            errors.require(false, "/password", fault);
        }
        let ends = self.ends_at.is_some() || !self.roles.contains(&Role::Inspector);
        errors.require(
            ends,
            "/ends_at",
            "must say when an inspector's account ends",
        );
    }
}

impl From<AddPersonRefusal> for ApiError {
    fn from(refusal: AddPersonRefusal) -> Self {
        let detail = sentence(&refusal.to_string());
        match refusal {
            AddPersonRefusal::LoginTaken => ApiError::new(&catalogue::TAKEN).detail(detail),
            AddPersonRefusal::InspectorNeedsEnd => {
                ApiError::fields(vec![FieldError::new("/ends_at", detail)])
            }
        }
    }
}

/// Adds a person.
#[utoipa::path(
    operation_id = "add_person", tag = "access", request_body = PersonBody,
    params(crate::openapi::IdempotencyKey),
    responses(
        (status = 201, description = "Added.", body = Person),
        Refusals,
    ),
)]
#[post("/v1/people")]
pub(super) async fn add_person(
    allowed: Allowed<act::AddPerson>,
    app: Data<App>,
    keyed: Keyed<PersonBody>,
) -> Result<HttpResponse, ApiError> {
    let PersonBody {
        login,
        name,
        roles,
        password,
        ends_at,
    } = keyed.body;
    let facility = app.recorder.facility(allowed.caller.facility).await?;
    let account = Account {
        login: &login,
        name: &name,
        facility: &facility.name,
    };
    let password_hash = new_password(password, "/password", &account).await?;
    let operation = AddPerson {
        login,
        name,
        roles,
        password_hash,
        ends_at,
    };
    let recorded = app.recorder.record(
        &allowed.grant,
        keyed.request,
        operation,
        |person, receipt| {
            render(
                StatusCode::CREATED,
                &Person::from(person),
                receipt,
                Some(person.version),
            )
        },
    );
    Ok(reply(recorded.await?))
}
