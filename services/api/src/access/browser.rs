//! The session of a browser: its tokens in cookies that no script can read.
//!
//! A browser sends cookies along whoever asked it to, so they count only in a request that a page
//! of this service made: the browser says so in `Sec-Fetch-Site` (Fetch Metadata), which no page
//! can set. `SameSite=Strict` stands behind it. A request that only reads is held to the same,
//! because reading where a lot went is on record too.

use super::pair_station::Paired;
use super::sessions::NewSession;
use actix_web::cookie::time::Duration;
use actix_web::cookie::{Cookie, SameSite};
use actix_web::{HttpRequest, HttpResponse};

/// A browser takes this name only for this host, over TLS (RFC 6265bis, 4.1.3.2).
const ACCESS: &str = "__Host-lotwarden-access";
/// A browser takes this name only over TLS (RFC 6265bis, 4.1.3.1); it is sent to sessions alone.
const REFRESH: &str = "__Secure-lotwarden-refresh";
/// As [`REFRESH`]; sent to what a station asks for itself alone.
const STATION: &str = "__Secure-lotwarden-station";
const STATION_PATH: &str = "/v1/stations/current";
/// Browsers keep a cookie for 400 days at most (RFC 6265bis, 5.5).
const STATION_DAYS: i64 = 400;
const ACCESS_PATH: &str = "/";
const REFRESH_PATH: &str = "/v1/sessions";

/// The access token of a browser, when one of our pages asks.
pub(super) fn access_token(request: &HttpRequest) -> Option<String> {
    cookie(request, ACCESS)
}

/// The refresh token of a browser, when one of our pages asks.
pub(super) fn refresh_token(request: &HttpRequest) -> Option<String> {
    cookie(request, REFRESH)
}

/// The credential of a paired station, when one of our pages asks.
pub(super) fn station_credential(request: &HttpRequest) -> Option<String> {
    cookie(request, STATION)
}

fn cookie(request: &HttpRequest, name: &str) -> Option<String> {
    let site = request.headers().get("sec-fetch-site")?;
    (site == "same-origin").then_some(())?;
    Some(request.cookie(name)?.value().to_owned())
}

/// Answers with a new session: its tokens in the body, or for a browser in cookies.
pub(super) fn answer(mut session: NewSession, browser: bool) -> HttpResponse {
    let mut response = HttpResponse::Created();
    if browser {
        let access = session.access_token.take().unwrap_or_default();
        let refresh = session.refresh_token.take().unwrap_or_default();
        response.cookie(kept(ACCESS, access, ACCESS_PATH));
        response.cookie(kept(REFRESH, refresh, REFRESH_PATH));
    }
    response.json(session)
}

/// Answers a station that was paired: its credential in the body, or for a browser in a cookie.
pub(super) fn paired(mut station: Paired, browser: bool) -> HttpResponse {
    let mut response = HttpResponse::Created();
    if browser {
        let credential = station.credential.take().unwrap_or_default();
        let mut cookie = kept(STATION, credential, STATION_PATH);
        cookie.set_max_age(Duration::days(STATION_DAYS));
        response.cookie(cookie);
    }
    response.json(station)
}

/// Takes the cookies back.
pub(super) fn forgotten() -> HttpResponse {
    let mut response = HttpResponse::NoContent();
    for (name, path) in [(ACCESS, ACCESS_PATH), (REFRESH, REFRESH_PATH)] {
        let mut cookie = kept(name, String::new(), path);
        cookie.make_removal();
        response.cookie(cookie);
    }
    response.finish()
}

/// A cookie for this host alone, over TLS or the machine itself, until the browser is closed.
fn kept(name: &'static str, value: String, path: &'static str) -> Cookie<'static> {
    Cookie::build(name, value)
        .path(path)
        .secure(true)
        .http_only(true)
        .same_site(SameSite::Strict)
        .finish()
}
