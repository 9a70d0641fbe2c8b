//! Refusals: RFC 9457 at every address, also where the framework itself refuses.

use crate::harness::{Reply, Service};
use lotwarden_api::problem::catalogue::PROBLEMS;
use lotwarden_domain::access::Role;
use reqwest::Method;
use serde_json::json;
use uuid::Uuid;

/// RFC 9457, 3.1: type a URI reference, status the number that was sent, title and detail texts.
#[track_caller]
fn is_problem(reply: &Reply, status: u16) {
    assert_eq!(reply.status, status, "{}", reply.text());
    assert_eq!(
        reply.header("content-type"),
        Some("application/problem+json"),
        "{}",
        reply.text()
    );
    let problem = reply.json();
    let code = problem["code"].as_str().expect("a code");
    assert_eq!(problem["type"], format!("/problems/{code}"));
    assert_eq!(problem["status"], status);
    assert!(
        problem["title"]
            .as_str()
            .is_some_and(|title| !title.is_empty())
    );
    assert!(
        problem
            .get("detail")
            .is_none_or(|detail| detail.is_string())
    );
    let catalogued = PROBLEMS
        .iter()
        .any(|known| known.code == code && known.status == status);
    assert!(catalogued, "{code} is not in the catalogue");
}

#[actix_web::test]
async fn every_kind_of_refusal_is_a_problem() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let compliance = service.role(Role::Compliance).await;
    let station = json!({"name": "Room 2"});
    let post = || {
        administrator
            .request(Method::POST, "/v1/stations")
            .fresh_key()
    };
    let nowhere = Uuid::new_v4();

    is_problem(&post().json(&json!({"name": ""})).send().await, 400);
    is_problem(&service.anybody().get("/v1/stations").await, 401);
    is_problem(&administrator.get("/v1/ledger/entries").await, 403);
    is_problem(
        &administrator.get(&format!("/v1/holds/{nowhere}")).await,
        404,
    );
    is_problem(&administrator.get("/v1/holds/not-an-id").await, 404);
    is_problem(&administrator.get("/v1/nothing-of-this-name").await, 404);
    is_problem(&administrator.get("/nothing").await, 404);
    is_problem(&administrator.delete("/v1/stations").await, 405);
    post().json(&station).send().await.expect(201);
    is_problem(&post().json(&station).send().await, 409);
    let stale = compliance
        .request(Method::PUT, "/v1/policy")
        .fresh_key()
        .if_match(9);
    let settings = json!({"expires_soon_days": 1, "short_dated_days": 1, "keeps_stock": true, "idle_lock_minutes": 15, "due_equipment_stops": false, "clock_skew_seconds": 120});
    is_problem(
        &stale
            .json(&json!({"settings": settings, "reason": "A stale one."}))
            .send()
            .await,
        412,
    );
    is_problem(
        &post()
            .body("application/json", vec![b' '; 300 * 1024])
            .send()
            .await,
        413,
    );
    is_problem(&post().body("text/plain", "name=Room 2").send().await, 415);
    let missing = compliance
        .request(Method::PUT, "/v1/policy")
        .fresh_key()
        .json(&json!({}));
    is_problem(&missing.send().await, 428);
}

#[actix_web::test]
async fn a_method_that_an_address_does_not_take_is_answered_with_those_it_takes() {
    let service = Service::start().await;
    let administrator = service.role(Role::Administrator).await;
    let reply = administrator.delete("/v1/stations").await;
    is_problem(&reply, 405);
    // RFC 9110, 15.5.6: a 405 must carry Allow.
    assert_eq!(reply.header("allow"), Some("GET, POST"));
    let reply = administrator
        .delete(&format!("/v1/people/{}", Uuid::new_v4()))
        .await;
    is_problem(&reply, 405);
    assert_eq!(reply.header("allow"), Some("PUT"));
}

#[actix_web::test]
async fn every_problem_is_documented_where_its_type_points() {
    let service = Service::start().await;
    let anybody = service.anybody();
    for problem in PROBLEMS {
        let documented = anybody
            .get(&format!("/problems/{}", problem.code))
            .await
            .expect(200);
        assert_eq!(documented["code"], problem.code);
        assert_eq!(documented["status"], problem.status);
        assert!(
            documented["advice"]
                .as_str()
                .is_some_and(|advice| advice.len() > 10)
        );
    }
    is_problem(&anybody.get("/problems/no-such-slug").await, 404);
    let all = anybody.get("/problems").await.expect(200);
    assert_eq!(all["items"].as_array().map(Vec::len), Some(PROBLEMS.len()));
}

#[test]
fn slugs_of_problems_are_unique() {
    let mut codes: Vec<&str> = PROBLEMS.iter().map(|problem| problem.code).collect();
    codes.sort_unstable();
    codes.dedup();
    assert_eq!(codes.len(), PROBLEMS.len());
}

#[actix_web::test]
async fn every_answer_has_a_request_id_and_forbids_framing_sniffing_and_caching() {
    let service = Service::start().await;
    let anybody = service.anybody();
    for path in [
        "/livez",
        "/v1/stations",
        "/nothing",
        "/openapi.json",
        "/docs/",
    ] {
        let reply = anybody.get(path).await;
        let id = reply
            .header("x-request-id")
            .and_then(|id| Uuid::parse_str(id).ok());
        assert!(id.is_some(), "{path} has no request id");
        assert_eq!(
            reply.header("x-content-type-options"),
            Some("nosniff"),
            "{path}"
        );
        assert_eq!(reply.header("x-frame-options"), Some("DENY"), "{path}");
        assert!(
            reply
                .header("content-security-policy")
                .is_some_and(|csp| csp.contains("frame-ancestors 'none'"))
        );
        assert!(reply.header("cache-control").is_some(), "{path}");
    }
}

#[actix_web::test]
async fn health_metrics_and_the_interactive_document_are_served_to_everybody() {
    let service = Service::start().await;
    let anybody = service.anybody();
    assert_eq!(
        anybody.get("/livez").await.expect(200),
        json!({"status": "pass"})
    );
    assert_eq!(
        anybody.get("/readyz").await.expect(200),
        json!({"status": "pass"})
    );
    let metrics = anybody.get("/metrics").await;
    assert_eq!(metrics.status, 200);
    assert!(
        metrics.text().contains("lotwarden_request_seconds"),
        "{}",
        metrics.text()
    );
    let docs = anybody.get("/docs/").await;
    assert_eq!(docs.status, 200);
    assert!(
        docs.text().contains("swagger"),
        "not the interactive document"
    );
}
