//! The caller proves the password once more, to sign or to change it; a wrong one is on record like
//! a failed sign-in.

use super::passwords;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::problem::{ApiError, FieldError, catalogue};
use actix_web::HttpRequest;
use lotwarden_domain::access::{Caller, Grant};
use lotwarden_store::access::{Credentials, RefuseSignIn, SignInFailure, credentials, show};
use lotwarden_store::{Rendered, Request};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// A signature's meaning and the signer's password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignBody {
    /// What signing means (21 CFR 11.50(a)(3)).
    #[schema(
        example = "Procedure performed and record reviewed",
        min_length = 1,
        max_length = 200
    )]
    pub meaning: String,
    /// The signer's password, asked for again (21 CFR 11.200).
    #[schema(value_type = String, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    pub password: Zeroizing<String>,
}

impl Checked for SignBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/meaning", &self.meaning, 1, 200);
        errors.password(&self.password);
    }
}

/// Checks the caller's own password.
///
/// # Errors
/// 401 for a wrong one, 429 after several.
pub(crate) async fn prove(
    app: &App,
    request: &HttpRequest,
    caller: &Caller,
    password: Zeroizing<String>,
) -> Result<(), ApiError> {
    let found = of_caller(app, caller).await?;
    prove_of(app, request, caller, &found, password).await
}

/// Checks the caller's own password against credentials that were read.
///
/// # Errors
/// As [`prove`].
pub(super) async fn prove_of(
    app: &App,
    request: &HttpRequest,
    caller: &Caller,
    found: &Credentials,
    password: Zeroizing<String>,
) -> Result<(), ApiError> {
    let peer = request.peer_addr();
    let address = peer.map(|peer| peer.ip().to_string()).unwrap_or_default();
    if let Err(wait) = app.throttle.sign_in(&found.person.login, &address) {
        refuse(app, caller, SignInFailure::Throttled).await?;
        return Err(wait);
    }
    let hash = Some(found.password_hash.clone());
    if passwords::verify_apart(password, hash).await {
        return Ok(());
    }
    refuse(app, caller, SignInFailure::WrongPassword).await?;
    Err(ApiError::new(&catalogue::WRONG_CREDENTIALS))
}

/// The caller's account with its password's hash.
pub(super) async fn of_caller(app: &App, caller: &Caller) -> Result<Credentials, ApiError> {
    let mut reading = app.reading(caller.facility).await?;
    let person = show(&mut reading, caller.person).await?;
    drop(reading);
    let found = match person {
        Some(person) => credentials(app.database(), &person.login).await?,
        None => None,
    };
    found.ok_or_else(|| ApiError::new(&catalogue::NOT_SIGNED_IN))
}

async fn refuse(app: &App, caller: &Caller, reason: SignInFailure) -> Result<(), ApiError> {
    let operation = RefuseSignIn {
        person: caller.person,
        reason,
    };
    let grant = Grant::on_failure(caller.facility);
    let nothing = |_: &(), _| Rendered {
        status: 204,
        body: Vec::new(),
        etag: None,
    };
    let recorded = app
        .recorder
        .record(&grant, Request::default(), operation, nothing);
    recorded.await?;
    Ok(())
}

/// Hashes a new password that the rules take.
///
/// # Errors
/// 400 with the reason why it can be guessed.
pub(super) async fn new_password(
    password: Zeroizing<String>,
    pointer: &str,
    account: &passwords::Account<'_>,
) -> Result<String, ApiError> {
    if let Some(fault) = passwords::fault(&password, account) {
        return Err(ApiError::fields(vec![FieldError::new(pointer, fault)]));
    }
    let hashed = actix_web::web::block(move || passwords::hash(&password)).await;
    hashed.map_err(|_| ApiError::new(&catalogue::INTERNAL))?
}
