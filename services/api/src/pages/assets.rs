//! What the pages are made of: scripts, styles, letters and pictures, all served from here.

use super::shell::PAGES;
use crate::problem::ApiError;
use actix_web::http::header::{CACHE_CONTROL, CONTENT_TYPE, ETAG, IF_NONE_MATCH};
use actix_web::web::Path;
use actix_web::{HttpRequest, HttpResponse};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use sha2::{Digest, Sha256};
use std::sync::LazyLock;

struct Asset {
    name: &'static str,
    bytes: &'static [u8],
}

macro_rules! assets {
    ($($name:literal,)+) => {
        &[$(Asset { name: $name, bytes: include_bytes!(concat!("../../pages/assets/", $name)) },)+]
    };
}

/// Every asset under `/assets`.
const ASSETS: &[Asset] = assets![
    "atkinson-hyperlegible-next-latin-400-normal.woff2",
    "atkinson-hyperlegible-next-latin-700-normal.woff2",
    "OFL.txt",
    "api.js",
    "capture.js",
    "case_closing.js",
    "case_equipment.js",
    "case_record.js",
    "charts.js",
    "command_sheet.js",
    "controls.js",
    "dom.js",
    "follow_ups.js",
    "format.js",
    "forms.js",
    "genealogy.js",
    "held.js",
    "icon.svg",
    "knowledge.js",
    "ledger.js",
    "next_day.js",
    "notice_desk.js",
    "notice_in.js",
    "notice_settings.js",
    "notice_work.js",
    "notices.js",
    "outbox.js",
    "people.js",
    "room.js",
    "room_cylinders.js",
    "room_energy.js",
    "room_equipment.js",
    "room_loads.js",
    "room_routines.js",
    "room_vials.js",
    "shelf.js",
    "shelf_counts.js",
    "shelf_moves.js",
    "shelf_sweeps.js",
    "shell.js",
    "sign_in.js",
    "station.js",
    "station_case.js",
    "style.css",
    "texts.js",
    "tones.js",
    "verdict.js",
    "where_is.js",
    "zone.js",
];

/// The worker that keeps the pages' shells for when the network is gone.
const WORKER: &str = include_str!("../../pages/worker.js");

static VERSION: LazyLock<String> = LazyLock::new(|| {
    let mut hash = Sha256::new();
    for asset in ASSETS {
        hash.update(asset.bytes);
    }
    hash.update(WORKER);
    URL_SAFE_NO_PAD.encode(&hash.finalize()[..9])
});

/// Names the assets' state: another one makes the worker fetch them anew.
pub(super) fn version() -> &'static str {
    &VERSION
}

fn kind(name: &str) -> &'static str {
    match name.rsplit('.').next() {
        Some("js") => "text/javascript; charset=utf-8",
        Some("css") => "text/css; charset=utf-8",
        Some("svg") => "image/svg+xml",
        Some("woff2") => "font/woff2",
        _ => "text/plain; charset=utf-8",
    }
}

/// Shows one asset; a browser may keep it and asks whether it is still the same.
pub(super) async fn show_asset(
    request: HttpRequest,
    name: Path<String>,
) -> Result<HttpResponse, ApiError> {
    let asset = ASSETS.iter().find(|asset| asset.name == *name);
    let asset = asset.ok_or_else(|| ApiError::no_such("asset"))?;
    let tag = format!("\"{}\"", version());
    let known = request.headers().get(IF_NONE_MATCH);
    if known.is_some_and(|known| known.as_bytes() == tag.as_bytes()) {
        return Ok(HttpResponse::NotModified()
            .insert_header((ETAG, tag))
            .finish());
    }
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, kind(asset.name)))
        .insert_header((CACHE_CONTROL, "no-cache"))
        .insert_header((ETAG, tag))
        .body(asset.bytes))
}

/// Shows the worker, which stands at the root so that it serves every page.
pub(super) async fn worker() -> HttpResponse {
    let pages = PAGES.iter().map(|page| page.path.to_owned());
    let assets = ASSETS.iter().map(|asset| format!("/assets/{}", asset.name));
    let files: Vec<String> = pages.chain(assets).collect();
    let files = serde_json::Value::from(files);
    let head = format!("const VERSION = '{}';\nconst FILES = {files};\n", version());
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, kind("worker.js")))
        .insert_header((CACHE_CONTROL, "no-cache"))
        .body(head + WORKER)
}

/// Says how the pages stand on a tablet's screen (W3C Web Application Manifest).
pub(super) async fn manifest() -> HttpResponse {
    let manifest = serde_json::json!({
        "name": "lotwarden",
        "start_url": "/station",
        "display": "standalone",
        "icons": [{"src": "/assets/icon.svg", "sizes": "any", "type": "image/svg+xml"}],
    });
    HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "application/manifest+json"))
        .insert_header((CACHE_CONTROL, "no-cache"))
        .body(manifest.to_string())
}
