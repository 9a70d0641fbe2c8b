//! The shells of the pages and what they are made of.

use crate::harness::Service;
use crate::harness::people::PASSWORD;
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::json;

const PAGES: [&str; 9] = [
    "/station",
    "/shelf",
    "/next-day",
    "/room",
    "/where-is",
    "/notices",
    "/ledger",
    "/people",
    "/command-sheet",
];

#[actix_web::test]
async fn a_shell_holds_no_data_and_lets_nothing_in_from_elsewhere() {
    let service = Service::start().await;
    for page in PAGES {
        let shell = service.anybody().get(page).await;
        assert_eq!(shell.status, 200, "{page}");
        assert_eq!(
            shell.header("content-type"),
            Some("text/html; charset=utf-8")
        );
        // Content Security Policy Level 3; Trusted Types.
        let policy = shell.header("content-security-policy").unwrap_or_default();
        for part in [
            "default-src 'none'",
            "script-src 'self'",
            "frame-ancestors 'none'",
            "require-trusted-types-for 'script'",
        ] {
            assert!(policy.contains(part), "{page}: {policy}");
        }
        let text = shell.text();
        assert!(
            !text.contains(" style=") && !text.contains(" onclick="),
            "{page}"
        );
        let facility = service.site.facility.to_string();
        assert!(!text.contains(&facility), "{page}");
    }
}

#[actix_web::test]
async fn a_shell_speaks_the_language_that_was_chosen_or_the_first_one_asked_for() {
    let service = Service::start().await;
    let shell = |header: &'static str, value: &'static str| {
        let request = service.anybody().request(Method::GET, "/shelf");
        request.header(header, value).send()
    };
    let speaks = |text: String, tag: &str| text.contains(&format!("<html lang=\"{tag}\">"));
    // RFC 9110, 12.5.4.
    let german = shell("accept-language", "fr;q=0.9, de-AT, en;q=0.5").await;
    assert!(speaks(german.text(), "de"));
    assert!(speaks(shell("accept-language", "fr").await.text(), "en"));
    assert!(speaks(
        shell("cookie", "lotwarden-language=de").await.text(),
        "de"
    ));
}

#[actix_web::test]
async fn an_asset_is_sent_once_and_then_only_confirmed() {
    let service = Service::start().await;
    let first = service.anybody().get("/assets/style.css").await;
    assert_eq!(first.status, 200);
    assert_eq!(
        first.header("content-type"),
        Some("text/css; charset=utf-8")
    );
    let tag = first.header("etag").unwrap_or_default();
    let again = service.anybody().request(Method::GET, "/assets/style.css");
    let again = again.header("if-none-match", tag).send().await;
    // RFC 9110, 13.1.2 and 15.4.5.
    assert_eq!(again.status, 304);
    assert!(again.body.is_empty());
    let missing = service.anybody().get("/assets/..%2fstyle.css").await;
    assert_eq!(missing.status, 404);
}

#[actix_web::test]
async fn the_worker_keeps_every_page_and_every_asset_it_names_is_there() {
    let service = Service::start().await;
    let worker = service.anybody().get("/worker.js").await.text();
    let files = worker.lines().nth(1).unwrap_or_default();
    let list = files
        .trim_start_matches("const FILES = ")
        .trim_end_matches(';');
    let files: Vec<String> = serde_json::from_str(list).expect("a list of addresses");
    for page in PAGES {
        assert!(files.iter().any(|file| file == page), "{page}");
    }
    for file in files {
        assert_eq!(service.anybody().get(&file).await.status, 200, "{file}");
    }
}

#[actix_web::test]
async fn the_command_sheet_has_a_symbol_for_each_command() {
    let service = Service::start().await;
    let sheet = service.anybody().get("/command-sheet").await.text();
    let symbols: Vec<_> = sheet.split("/commands/").skip(1).collect();
    assert_eq!(symbols.len(), 4);
    for symbol in symbols {
        let name = symbol.split(".svg").next().unwrap_or_default();
        let picture = service
            .anybody()
            .get(&format!("/commands/{name}.svg"))
            .await;
        assert_eq!(picture.header("content-type"), Some("image/svg+xml"));
        assert!(picture.text().contains(&format!("LWCMD{name}")));
    }
    service
        .anybody()
        .get("/commands/NOTHING.svg")
        .await
        .problem(404, "no-such-thing");
}

#[actix_web::test]
async fn practitioners_and_witnesses_are_listed_by_name_alone_and_only_while_their_accounts_last() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    for (login, name, role) in [
        ("a.stays", "Alda Stays", "practitioner"),
        ("b.left", "Bero Left", "practitioner"),
        ("c.other", "Cato Other", "materials"),
    ] {
        let ends = (login == "b.left").then_some("2026-11-30T00:00:00Z");
        let body = json!({"login": login, "name": name, "roles": [role], "password": PASSWORD, "ends_at": ends});
        administrator.post("/v1/people", &body).await.expect(201);
    }
    service
        .site
        .clock
        .advance(jiff::SignedDuration::from_hours(24 * 365));
    let circulator = service.role(Role::Circulator).await;
    let materials = service.role(Role::Materials).await;
    for (list, another) in [
        (circulator.get("/v1/practitioners").await, false),
        (materials.get("/v1/witnesses").await, true),
    ] {
        let list = list.expect(200);
        let items = list["items"].as_array().expect("items");
        let listed = |name: &str| items.iter().any(|one| one["name"] == name);
        assert!(listed("Alda Stays") && !listed("Bero Left"), "{list}");
        assert_eq!(listed("Cato Other"), another, "{list}");
        let own = json!(materials.person);
        assert!(items.iter().all(|one| one["id"] != own), "{list}");
        assert!(!list.to_string().contains("a.stays"), "{list}");
    }
}

/// RFC 9110, 9.3.2: HEAD is GET without the body.
#[actix_web::test]
async fn a_page_answers_head_as_it_answers_get() {
    let service = Service::start().await;
    for path in PAGES.into_iter().chain(["/assets/style.css", "/worker.js"]) {
        let whole = service.anybody().get(path).await;
        let head = service.anybody().request(Method::HEAD, path).send().await;
        assert_eq!(head.status, 200, "{path}");
        assert_eq!(head.header("content-type"), whole.header("content-type"));
        assert_eq!(head.text(), "", "{path}");
    }
}
