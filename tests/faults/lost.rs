//! A database that is away for a while.

use super::load::Load;
use crate::harness::Instance;
use reqwest::Method;
use serde_json::json;
use std::time::{Duration, Instant};

#[actix_web::test]
async fn a_stopped_database_gives_503_and_the_same_request_succeeds_once_it_is_back() {
    let mut instance = Instance::new();
    instance.start_database();
    instance.serve();
    let load = Load::on(&instance).await;
    let caller = instance.sign_in().await;
    let cases = caller.get("/v1/cases").await.expect(200);
    let case = cases["items"][0]["id"].as_str().expect("a case");
    let path = format!("/v1/cases/{case}/scans");
    let scan = || {
        let body = json!({"text": "]d2010952000000000117401231", "another_piece": true});
        caller
            .request(Method::POST, &path)
            .key("one and the same")
            .json(&body)
            .send()
    };
    instance.stop_database();
    for _ in 0..3 {
        let refused = scan().await;
        let problem = refused.problem(503, "unavailable");
        assert!(refused.header("retry-after").is_some());
        // A 5xx tells nothing of what failed inside.
        assert!(problem.get("detail").is_none(), "{problem}");
    }
    caller.get("/v1/cases").await.problem(503, "unavailable");
    instance
        .anybody()
        .get("/readyz")
        .await
        .problem(503, "unavailable");
    instance.anybody().get("/livez").await.expect(200);

    instance.start_database();
    let until = Instant::now() + Duration::from_secs(20);
    let recorded = loop {
        let reply = scan().await;
        if reply.status == 201 {
            break reply;
        }
        assert!(
            Instant::now() < until,
            "the service does not find its database again: {}",
            reply.text()
        );
        actix_web::rt::time::sleep(Duration::from_millis(200)).await;
    };
    assert_eq!(
        recorded.header("idempotency-replayed"),
        None,
        "a request that got 503 was recorded"
    );
    let again = scan().await;
    assert_eq!(again.body, recorded.body);
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
    let scans = caller.get(&path).await.expect(200);
    assert_eq!(scans["items"].as_array().map(Vec::len), Some(1));
    drop(load);
    instance.run(&["ledger", "verify"], "");
}
