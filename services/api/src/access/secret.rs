//! The caller proves the password once more, to sign or to change it; a wrong one is on record like
//! a failed sign-in.

use super::badge_in;
use super::passwords;
use crate::app::App;
use crate::http::body::{Checked, Fields};
use crate::problem::{ApiError, FieldError, catalogue};
use actix_web::HttpRequest;
use lotwarden_domain::access::{Caller, Grant};
use lotwarden_store::access::{
    Credentials, RefuseSignIn, SignInFailure, credentials, session_station, show,
};
use lotwarden_store::{Rendered, Request};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// A signature's meaning and the signer's secret.
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
    #[schema(value_type = Option<String>, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    pub password: Option<Zeroizing<String>>,
    /// In place of the password, in a session that was begun so: the signer's badge and PIN.
    pub by_badge: Option<BadgeAndPin>,
}

impl Checked for SignBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/meaning", &self.meaning, 1, 200);
        errors.signer(self.password.as_deref(), self.by_badge.as_ref());
    }
}

/// A badge and its holder's PIN: the two components of a signature at a paired station
/// (21 CFR 11.200(a)(1)). Every signature asks for both.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct BadgeAndPin {
    /// The badge's characters as the scanner sent them.
    #[schema(value_type = String, example = "]d292LWBK7QM2XPAK7QM2XPAK7QM", min_length = 1, max_length = 100)]
    pub(super) badge: Zeroizing<String>,
    /// The PIN.
    #[schema(value_type = String, format = Password, example = "471903", min_length = 6, max_length = 12)]
    pub(super) pin: Zeroizing<String>,
}

impl BadgeAndPin {
    /// Adds an error for each part that no badge or PIN can be.
    pub(crate) fn check(&self, at: &str, errors: &mut Fields) {
        let fits = (1..=100).contains(&self.badge.chars().count());
        let pointer = format!("{at}/badge");
        errors.require(fits, &pointer, "must be 1 to 100 characters");
        errors.text(&format!("{at}/pin"), &self.pin, 1, 64);
    }
}

/// Checks what a signer proves: the password, or badge and PIN at the paired station where the
/// session was begun with them.
///
/// # Errors
/// 401 when it is wrong, 429 after several, 400 when the session was not begun by badge.
pub(crate) async fn prove_signer(
    app: &App,
    request: &HttpRequest,
    caller: &Caller,
    (password, by_badge): (Option<Zeroizing<String>>, Option<BadgeAndPin>),
) -> Result<(), ApiError> {
    let Some(BadgeAndPin { badge, pin }) = by_badge else {
        return prove(app, request, caller, password.unwrap_or_default()).await;
    };
    let mut reading = app.reading(caller.facility).await?;
    let station = session_station(&mut reading, caller.session).await?;
    drop(reading);
    let Some(station) = station else {
        let detail = "counts in a session that was begun by badge at a paired station; sign with the password";
        let error = FieldError::new("/by_badge", detail);
        return Err(ApiError::fields(vec![error]));
    };
    let holder = badge_in::verified(app, (station, caller.facility), &badge, pin).await?;
    if holder.person == caller.person {
        return Ok(());
    }
    let detail = "This badge is another person's than the one who is signed in.";
    Err(ApiError::new(&catalogue::WRONG_BADGE).detail(detail))
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
