//! Sessions of browsers: tokens in cookies that count in requests of our own pages alone.

use super::service_with;
use crate::harness::people::PASSWORD;
use crate::harness::{Reply, Service};
use reqwest::Method;
use serde_json::{Value, json};

/// The pairs that a browser would keep of an answer, as it sends them.
fn cookies(reply: &Reply) -> String {
    let set = reply.headers.get_all("set-cookie").iter();
    let pairs = set.map(|header| {
        let header = header.to_str().expect("an ASCII header");
        // RFC 6265bis: not for scripts, not over plain HTTP, not for other sites' requests.
        for attribute in ["HttpOnly", "Secure", "SameSite=Strict"] {
            assert!(header.contains(attribute), "{header}");
        }
        header.split(';').next().unwrap_or_default().to_owned()
    });
    pairs.collect::<Vec<_>>().join("; ")
}

async fn browser_session() -> (Service, Reply) {
    let (service, _) = service_with("m.okafor").await;
    let body = json!({"login": "m.okafor", "password": PASSWORD, "browser": true});
    let session = service.anybody().post("/v1/sessions", &body).await;
    (service, session)
}

#[actix_web::test]
async fn a_browser_gets_its_tokens_in_cookies_that_no_script_reads() {
    let (_service, session) = browser_session().await;
    let body = session.expect(201);
    assert_eq!(body["access_token"], Value::Null);
    assert_eq!(body["refresh_token"], Value::Null);
    assert_eq!(
        cookies(&session)
            .matches("__Host-lotwarden-access=")
            .count(),
        1
    );
    assert_eq!(
        cookies(&session)
            .matches("__Secure-lotwarden-refresh=")
            .count(),
        1
    );
}

#[actix_web::test]
async fn a_cookie_counts_only_in_a_request_of_our_own_pages() {
    let (service, session) = browser_session().await;
    let cookies = cookies(&session);
    let ask = |site: Option<&'static str>| {
        let request = service
            .anybody()
            .request(Method::GET, "/v1/sessions/current");
        let request = request.header("cookie", &cookies);
        match site {
            Some(site) => request.header("sec-fetch-site", site),
            None => request,
        }
    };
    // Fetch Metadata Request Headers, 2.4: what a browser says of where a request comes from.
    let own = ask(Some("same-origin")).send().await.expect(200);
    assert_eq!(own["time_zone"], "UTC");
    for site in [Some("cross-site"), Some("same-site"), Some("none"), None] {
        ask(site).send().await.problem(401, "not-signed-in");
    }
}

#[actix_web::test]
async fn a_browser_renews_its_session_with_the_cookie_and_forgets_it_at_the_end() {
    let (service, session) = browser_session().await;
    let post = |cookies: &str, site: &str| {
        let request = service
            .anybody()
            .request(Method::POST, "/v1/sessions/refresh");
        let request = request
            .header("cookie", cookies)
            .header("sec-fetch-site", site);
        request.json(&json!({}))
    };
    let first = cookies(&session);
    post(&first, "cross-site")
        .send()
        .await
        .problem(401, "not-signed-in");
    let renewed = post(&first, "same-origin").send().await;
    assert_eq!(renewed.expect(201)["access_token"], Value::Null);
    let next = cookies(&renewed);
    let out = service
        .anybody()
        .request(Method::DELETE, "/v1/sessions/current");
    let out = out
        .header("cookie", &next)
        .header("sec-fetch-site", "same-origin");
    let out = out.send().await;
    out.expect(204);
    assert_eq!(
        cookies(&out),
        "__Host-lotwarden-access=; __Secure-lotwarden-refresh="
    );
    post(&next, "same-origin")
        .send()
        .await
        .problem(401, "not-signed-in");
}
