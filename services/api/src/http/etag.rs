//! Entity tags: the record's version, and for what is read a digest of the answer beside it
//! (`"7-n4bQgYhMfWWaL-qg"`; RFC 9110, 8.8.3).
//!
//! The version alone says whether a change may be made. It does not say whether an answer is the
//! same: signatures and amendments stand in a case's answer and move no version of it.

use crate::problem::{ApiError, FieldError, catalogue};
use actix_web::dev::Payload;
use actix_web::http::header::{ContentType, ETAG, IF_MATCH, IF_NONE_MATCH};
use actix_web::{FromRequest, HttpRequest, HttpResponse};
use base64::Engine as _;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use serde::Serialize;
use sha2::{Digest, Sha256};
use std::future::{Ready, ready};

/// What no record's version is: they count from 1.
const NEVER: i32 = 0;

/// The version a caller saw, from `If-Match`.
#[derive(Clone, Copy, Debug)]
pub struct IfMatch(pub i32);

impl FromRequest for IfMatch {
    type Error = ApiError;
    type Future = Ready<Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, _: &mut Payload) -> Self::Future {
        let Some(header) = request.headers().get(IF_MATCH) else {
            return ready(Err(ApiError::new(&catalogue::NO_MATCH_HEADER)));
        };
        let tag = header.to_str().unwrap_or_default().trim();
        let quoted = tag.len() > 1 && tag.ends_with('"');
        ready(match version(tag) {
            Some(version) => Ok(Self(version)),
            // A weak tag never matches (RFC 9110, 13.1.1), nor does one that no version had; the
            // operation says so, after the body was looked at.
            None if quoted && (tag.starts_with('"') || tag.starts_with("W/\"")) => Ok(Self(NEVER)),
            None => {
                let detail = "must be the record's ETag as it came, in double quotes";
                Err(ApiError::fields(vec![FieldError::new("If-Match", detail)]))
            }
        })
    }
}

/// The version a caller saw, from `If-Match` where it was sent.
#[derive(Clone, Copy, Debug)]
pub struct IfSeen(pub Option<i32>);

impl FromRequest for IfSeen {
    type Error = ApiError;
    type Future = Ready<Result<Self, ApiError>>;

    fn from_request(request: &HttpRequest, payload: &mut Payload) -> Self::Future {
        if !request.headers().contains_key(IF_MATCH) {
            return ready(Ok(Self(None)));
        }
        let seen = IfMatch::from_request(request, payload).into_inner();
        ready(seen.map(|seen| Self(Some(seen.0))))
    }
}

/// The version of a tag, be it of a change (`"7"`) or of what was read (`"7-n4bQgYhMfWWaL-qg"`).
fn version(tag: &str) -> Option<i32> {
    let tag = tag.strip_prefix('"')?.strip_suffix('"')?;
    let version = tag.split_once('-').map_or(tag, |(version, _)| version);
    version.parse().ok()
}

/// Answers a read with its entity tag; 304 when the caller has this very answer.
pub fn tagged(request: &HttpRequest, version: i32, body: &impl Serialize) -> HttpResponse {
    // Our own bodies are structs of strings and numbers; they always render.
    let body = serde_json::to_vec(body).unwrap_or_default();
    let digest = URL_SAFE_NO_PAD.encode(&Sha256::digest(&body)[..12]);
    let tag = format!("\"{version}-{digest}\"");
    let known = request
        .headers()
        .get(IF_NONE_MATCH)
        .and_then(|header| header.to_str().ok());
    let has = |known: &str| known.trim() == "*" || known.trim() == tag;
    if known.is_some_and(|known| known.split(',').any(has)) {
        return HttpResponse::NotModified()
            .insert_header((ETAG, tag))
            .finish();
    }
    HttpResponse::Ok()
        .insert_header((ETAG, tag))
        .content_type(ContentType::json())
        .body(body)
}
