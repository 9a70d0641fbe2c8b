//! The shell of a page: its heading, its way around, its texts and its script.

use super::assets;
use super::commands::{COMMANDS, Command};
use super::language::{LANGUAGES, Language};
use crate::problem::{ApiError, catalogue};
use actix_web::http::header::{CONTENT_SECURITY_POLICY, CONTENT_TYPE, VARY};
use actix_web::{HttpRequest, HttpResponse};
use askama::Template;

/// One page.
#[derive(Debug)]
pub struct Page {
    /// Its address.
    pub path: &'static str,
    /// Its name: of its shell, its script and its texts.
    name: &'static str,
    /// Whether the bar at the top leads to it.
    in_bar: bool,
}

/// Every page, in the order of the bar.
pub const PAGES: [Page; 9] = [
    Page {
        path: "/station",
        name: "station",
        in_bar: true,
    },
    Page {
        path: "/shelf",
        name: "shelf",
        in_bar: true,
    },
    Page {
        path: "/next-day",
        name: "next_day",
        in_bar: true,
    },
    Page {
        path: "/room",
        name: "room",
        in_bar: true,
    },
    Page {
        path: "/where-is",
        name: "where_is",
        in_bar: true,
    },
    Page {
        path: "/notices",
        name: "notices",
        in_bar: true,
    },
    Page {
        path: "/ledger",
        name: "ledger",
        in_bar: true,
    },
    Page {
        path: "/people",
        name: "people",
        in_bar: true,
    },
    Page {
        path: "/command-sheet",
        name: "command_sheet",
        in_bar: false,
    },
];

/// What a page may load and do: only what this service serves, and no script made from text.
pub const POLICY: &str = "default-src 'none'; script-src 'self'; style-src 'self'; \
    img-src 'self' blob:; font-src 'self'; connect-src 'self'; worker-src 'self'; \
    manifest-src 'self'; form-action 'none'; base-uri 'none'; frame-ancestors 'none'; \
    require-trusted-types-for 'script'; trusted-types worker";

macro_rules! shells {
    ($($name:ident = $file:literal,)+) => {
        $(
            #[derive(Template)]
            #[template(path = $file)]
            struct $name<'a> { shell: &'a Shell }
        )+
    };
}

shells! {
    Station = "station.html",
    Shelf = "shelf.html",
    NextDay = "next_day.html",
    Room = "room.html",
    WhereIs = "where_is.html",
    Notices = "notices.html",
    LedgerPage = "ledger.html",
    People = "people.html",
    CommandSheet = "command_sheet.html",
}

/// What the layout needs.
struct Shell {
    page: &'static Page,
    language: &'static Language,
}

impl Shell {
    fn t(&self, key: impl AsRef<str>) -> String {
        self.language.text(key.as_ref()).to_owned()
    }

    fn title(&self) -> String {
        self.t(format!("{}.title", self.page.name))
    }

    fn bar(&self) -> impl Iterator<Item = (&'static Page, String)> {
        let named = |page: &'static Page| (page, self.t(format!("{}.title", page.name)));
        PAGES.iter().filter(|page| page.in_bar).map(named)
    }

    fn languages(&self) -> &'static [Language] {
        &LANGUAGES
    }

    fn commands(&self) -> &'static [Command] {
        &COMMANDS
    }

    fn texts(&self) -> String {
        self.language.script()
    }

    /// What refusals say in the page's language; none where the service speaks it.
    fn refusals(&self) -> Option<String> {
        self.language.refusals()
    }

    fn version(&self) -> &'static str {
        assets::version()
    }

    fn render(&self) -> askama::Result<String> {
        match self.page.name {
            "station" => Station { shell: self }.render(),
            "shelf" => Shelf { shell: self }.render(),
            "next_day" => NextDay { shell: self }.render(),
            "room" => Room { shell: self }.render(),
            "where_is" => WhereIs { shell: self }.render(),
            "notices" => Notices { shell: self }.render(),
            "ledger" => LedgerPage { shell: self }.render(),
            "people" => People { shell: self }.render(),
            _ => CommandSheet { shell: self }.render(),
        }
    }
}

/// Shows a page's shell.
pub(super) async fn show(request: HttpRequest) -> Result<HttpResponse, ApiError> {
    let page = PAGES.iter().find(|page| page.path == request.path());
    let page = page.ok_or_else(|| ApiError::no_such("page"))?;
    let language = Language::of(&request);
    let shell = Shell { page, language };
    let text = shell
        .render()
        .map_err(|_| ApiError::new(&catalogue::INTERNAL))?;
    Ok(HttpResponse::Ok()
        .insert_header((CONTENT_TYPE, "text/html; charset=utf-8"))
        .insert_header((CONTENT_SECURITY_POLICY, POLICY))
        .insert_header((VARY, "Accept-Language, Cookie"))
        .body(text))
}
