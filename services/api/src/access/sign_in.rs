//! `POST /v1/sessions`

use super::sessions::{NewSession, address, open};
use super::{browser, passwords};
use crate::app::App;
use crate::http::body::{Body, Checked, Fields};
use crate::problem::{ApiError, Refusals, catalogue};
use actix_web::web::Data;
use actix_web::{HttpRequest, HttpResponse, post};
use lotwarden_domain::access::Grant;
use lotwarden_store::Request;
use lotwarden_store::access::{Credentials, RefuseSignIn, SignInFailure, credentials};
use serde::Deserialize;
use utoipa::ToSchema;
use zeroize::Zeroizing;

/// Login and password.
#[derive(Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct SignInBody {
    /// The login.
    #[schema(example = "m.okafor", min_length = 1, max_length = 64)]
    login: String,
    /// The password.
    #[schema(value_type = String, format = Password, example = "three quiet otters 41", min_length = 1, max_length = 256)]
    password: Zeroizing<String>,
    /// True for a page of this service: the tokens come as cookies that no script can read, and
    /// not in the answer.
    #[serde(default)]
    browser: bool,
}

impl Checked for SignInBody {
    fn check(&self, errors: &mut Fields) {
        errors.text("/login", &self.login, 1, 64);
        errors.password(&self.password);
    }
}

/// Signs in.
///
/// The access token is good for ten minutes; the refresh token gets the next pair, once. A failed
/// attempt is on record, and after several each further one has to wait.
#[utoipa::path(
    operation_id = "sign_in", tag = "access", request_body = SignInBody, security(()),
    responses(
        (status = 201, description = "Signed in.", body = NewSession),
        Refusals,
    ),
)]
#[post("/v1/sessions")]
pub(super) async fn sign_in(
    request: HttpRequest,
    app: Data<App>,
    body: Body<SignInBody>,
) -> Result<HttpResponse, ApiError> {
    let SignInBody {
        login,
        password,
        browser,
    } = body.0;
    let login = login.to_lowercase();
    let throttled = app.throttle.sign_in(&login, &address(&request));
    let found = credentials(app.database(), &login).await?;
    if let Err(wait) = throttled {
        refuse(&app, found.as_ref(), SignInFailure::Throttled).await?;
        return Err(wait);
    }
    let hash = found.as_ref().map(|found| found.password_hash.clone());
    if !passwords::verify_apart(password, hash).await {
        refuse(&app, found.as_ref(), SignInFailure::WrongPassword).await?;
        return Err(ApiError::new(&catalogue::WRONG_CREDENTIALS));
    }
    let Some(found) = found else {
        return Err(ApiError::new(&catalogue::WRONG_CREDENTIALS));
    };
    let now = app.recorder.clock().now();
    if found.person.ends_at.is_some_and(|end| end <= now) {
        refuse(&app, Some(&found), SignInFailure::AccountEnded).await?;
        return Err(ApiError::new(&catalogue::WRONG_CREDENTIALS));
    }
    Ok(browser::answer(open(&app, &found).await?, browser))
}

/// Puts a failed attempt at a known account on record.
async fn refuse(
    app: &App,
    found: Option<&Credentials>,
    reason: SignInFailure,
) -> Result<(), ApiError> {
    let Some(found) = found else {
        tracing::warn!("a sign-in with an unknown login failed");
        return Ok(());
    };
    let operation = RefuseSignIn {
        person: found.person.id,
        reason,
    };
    let grant = Grant::on_failure(found.facility);
    app.recorder
        .record(
            &grant,
            Request::default(),
            operation,
            super::sessions::unrendered,
        )
        .await?;
    Ok(())
}
