//! The pages for the people: shells made here, filled by their scripts through the same `/v1` that
//! every other caller uses.
//!
//! A shell holds texts and no data, so it needs no credentials and may be kept at a station for
//! when the network is gone. What a page shows, it asked for with its person's session.

mod assets;
mod commands;
mod language;
mod shell;

use actix_web::web::{self, ServiceConfig};
use actix_web::{Route, guard};

/// What the pages say in English, by its key: documents say it so too.
pub(crate) fn english(key: &str) -> &str {
    language::LANGUAGES[0].text(key)
}

/// The routes of the pages; they are no operations and stand outside the description.
pub fn routes(config: &mut ServiceConfig) {
    config
        .route("/assets/{name}", read().to(assets::show_asset))
        .route("/worker.js", read().to(assets::worker))
        .route("/manifest.webmanifest", read().to(assets::manifest))
        .route("/commands/{name}.svg", read().to(commands::show_command))
        .service(web::redirect("/", "/station"));
    for page in shell::PAGES {
        config.route(page.path, read().to(shell::show));
    }
}

/// A GET, or a HEAD: the same answer without its body (RFC 9110, 9.3.2).
fn read() -> Route {
    web::route().guard(guard::Any(guard::Get()).or(guard::Head()))
}
