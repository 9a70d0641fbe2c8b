//! The pages for the people: shells made here, filled by their scripts through the same `/v1` that
//! every other caller uses.
//!
//! A shell holds texts and no data, so it needs no credentials and may be kept at a station for
//! when the network is gone. What a page shows, it asked for with its person's session.

mod assets;
mod commands;
mod language;
mod shell;

use actix_web::web::ServiceConfig;

/// The routes of the pages; they are no operations and stand outside the description.
pub fn routes(config: &mut ServiceConfig) {
    config
        .service(assets::show_asset)
        .service(assets::worker)
        .service(assets::manifest)
        .service(commands::show_command)
        .service(actix_web::web::redirect("/", "/station"));
    for page in shell::PAGES {
        config.route(page.path, actix_web::web::get().to(shell::show));
    }
}
