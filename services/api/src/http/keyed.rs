//! The body of a request that writes, with the key that makes repeating it harmless.

use super::body::{Checked, parse, received};
use crate::app::App;
use crate::problem::{ApiError, catalogue};
use actix_web::dev::Payload;
use actix_web::web::Data;
use actix_web::{FromRequest, HttpRequest};
use futures_util::future::LocalBoxFuture;
use lotwarden_store::Request;
use serde::de::DeserializeOwned;
use sha2::{Digest, Sha256};

/// A checked body and the `Idempotency-Key` it came with (draft-ietf-httpapi-idempotency-key-header).
///
/// The key counts for the caller; the same key with another method, path or body is refused.
#[derive(Debug)]
pub struct Keyed<T> {
    /// The body.
    pub body: T,
    /// The key and fingerprint for the recorder.
    pub request: Request,
}

impl<T: DeserializeOwned + Checked + 'static> FromRequest for Keyed<T> {
    type Error = ApiError;
    type Future = LocalBoxFuture<'static, Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        let (request, payload) = (request.clone(), payload.take());
        Box::pin(async move {
            let bytes = received(&request, payload, T::LONGEST).await?;
            let key = key(&request)?;
            let app = request.app_data::<Data<App>>();
            let app = app.ok_or_else(|| ApiError::new(&catalogue::INTERNAL))?;
            let method = request.method().as_str();
            let fingerprint = fingerprint(app, method, request.path(), &bytes)?;
            let body: T = parse(&request, &bytes)?;
            Ok(Self {
                body,
                request: Request {
                    key: Some((key, fingerprint)),
                    station: None,
                },
            })
        })
    }
}

/// What a request with a key is known again by.
///
/// # Errors
/// 500 when the hash cannot be made.
pub fn fingerprint(
    app: &App,
    method: &str,
    path: &str,
    bytes: &[u8],
) -> Result<[u8; 32], ApiError> {
    let mut hash = Sha256::new();
    for part in [method.as_bytes(), path.as_bytes(), bytes] {
        hash.update(u64::try_from(part.len()).unwrap_or(u64::MAX).to_be_bytes());
        hash.update(part);
    }
    // Keyed, because what is kept of a body must not help to guess a password in it.
    let keyed = app.recorder.master().lookup(&hash.finalize());
    keyed.map_err(|_| ApiError::new(&catalogue::INTERNAL))
}

/// The key, quoted (a structured field string, RFC 9651) or bare.
fn key(request: &HttpRequest) -> Result<String, ApiError> {
    let header = request.headers().get("idempotency-key");
    let header = header.ok_or_else(|| ApiError::new(&catalogue::KEY_MISSING))?;
    let text = header.to_str().unwrap_or_default().trim();
    let bare = text
        .strip_prefix('"')
        .and_then(|rest| rest.strip_suffix('"'))
        .unwrap_or(text);
    if bare.is_empty() || bare.len() > 255 {
        let detail = "The key is 1 to 255 visible ASCII characters.";
        return Err(ApiError::new(&catalogue::KEY_MISSING).detail(detail));
    }
    Ok(bare.to_owned())
}
