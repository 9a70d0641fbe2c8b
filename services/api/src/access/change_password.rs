//! `POST /v1/people/current/password` and `POST /v1/people/{person}/password`

use super::Allowed;
use super::passwords::{self, Account};
use super::secret::{new_password, of_caller, prove_of};
use crate::app::App;
use crate::http::answer::render;
use crate::http::body::{Checked, Fields};
use crate::http::{Keyed, reply};
use crate::openapi::IdempotencyKey;
use crate::problem::{ApiError, Refusals};
use actix_web::http::StatusCode;
use actix_web::web::{Data, Path};
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::act;
use lotwarden_store::access::{ChangePassword, ResetPassword, ResetPasswordRefusal, show};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;
use zeroize::Zeroizing;

/// The password in force and the next one.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PasswordChange {
    /// The password in force.
    #[schema(value_type = String, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Zeroizing<String>,
    /// The next one: 15 characters or more; any characters.
    #[schema(value_type = String, format = Password, example = "nine amber lanterns 27", min_length = 15, max_length = 256)]
    new_password: Zeroizing<String>,
}

/// A password given by an administrator.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PasswordBody {
    /// 15 characters or more; any characters.
    #[schema(value_type = String, format = Password, example = "nine amber lanterns 27", min_length = 15, max_length = 256)]
    new_password: Zeroizing<String>,
}

/// A password was set.
#[derive(Debug, Serialize, ToSchema)]
pub struct PasswordSet {
    /// Whose.
    person_id: Uuid,
}

impl Checked for PasswordChange {
    fn check(&self, errors: &mut Fields) {
        errors.password(&self.password);
        if let Some(fault) = passwords::length_fault(&self.new_password) {
            errors.require(false, "/new_password", fault);
        }
        let other = self.password != self.new_password;
        errors.require(other, "/new_password", "must be another one");
    }
}

impl Checked for PasswordBody {
    fn check(&self, errors: &mut Fields) {
        if let Some(fault) = passwords::length_fault(&self.new_password) {
            errors.require(false, "/new_password", fault);
        }
    }
}

impl From<ResetPasswordRefusal> for ApiError {
    fn from(refusal: ResetPasswordRefusal) -> Self {
        match refusal {
            ResetPasswordRefusal::NoSuchPerson => ApiError::no_such("person"),
        }
    }
}

/// Changes the caller's password; every other session of theirs ends.
#[utoipa::path(
    operation_id = "change_password", tag = "access", request_body = PasswordChange,
    params(IdempotencyKey),
    responses((status = 200, description = "Changed.", body = PasswordSet), Refusals),
)]
#[post("/v1/people/current/password")]
pub(super) async fn change_password(
    allowed: Allowed<act::ChangePassword>,
    app: Data<App>,
    http: HttpRequest,
    keyed: Keyed<PasswordChange>,
) -> Result<HttpResponse, ApiError> {
    let PasswordChange {
        password,
        new_password: next,
    } = keyed.body;
    let caller = &allowed.caller;
    let found = of_caller(&app, caller).await?;
    prove_of(&app, &http, caller, &found, password).await?;
    let facility = app.recorder.facility(caller.facility).await?;
    let account = Account {
        login: &found.person.login,
        name: &found.person.name,
        facility: &facility.name,
    };
    let person_id = caller.person;
    let operation = ChangePassword {
        person: person_id,
        session: caller.session,
        password_hash: new_password(next, "/new_password", &account).await?,
    };
    let recorded = app
        .recorder
        .record(
            &allowed.grant,
            keyed.request,
            operation,
            move |(), receipt| render(StatusCode::OK, &PasswordSet { person_id }, receipt, None),
        )
        .await?;
    app.ended.learn(&app.recorder, caller.facility).await?;
    Ok(reply(recorded))
}

/// Gives a person another password, to be handed over in person; every session of theirs ends.
#[utoipa::path(
    operation_id = "reset_password", tag = "access", request_body = PasswordBody,
    params(("person" = Uuid, Path, description = "The person."), IdempotencyKey),
    responses((status = 200, description = "Set.", body = PasswordSet), Refusals),
)]
#[post("/v1/people/{person}/password")]
pub(super) async fn reset_password(
    allowed: Allowed<act::ResetPassword>,
    app: Data<App>,
    person: Path<Uuid>,
    keyed: Keyed<PasswordBody>,
) -> Result<HttpResponse, ApiError> {
    let caller = &allowed.caller;
    let mut reading = app.reading(caller.facility).await?;
    let person = show(&mut reading, person.into_inner()).await?;
    drop(reading);
    let person = person.ok_or_else(|| ApiError::no_such("person"))?;
    let facility = app.recorder.facility(caller.facility).await?;
    let account = Account {
        login: &person.login,
        name: &person.name,
        facility: &facility.name,
    };
    let person_id = person.id;
    let next = keyed.body.new_password;
    let operation = ResetPassword {
        person: person_id,
        password_hash: new_password(next, "/new_password", &account).await?,
    };
    let recorded = app
        .recorder
        .record(
            &allowed.grant,
            keyed.request,
            operation,
            move |(), receipt| render(StatusCode::OK, &PasswordSet { person_id }, receipt, None),
        )
        .await?;
    app.ended.learn(&app.recorder, caller.facility).await?;
    Ok(reply(recorded))
}
