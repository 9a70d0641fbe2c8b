//! A database that is away for a while.

use super::load::Load;
use crate::harness::cluster::connect;
use crate::harness::{Client, Instance, Reply, Suite};
use futures_util::future::Either;
use reqwest::Method;
use serde_json::json;
use std::time::{Duration, Instant};

/// A scan that is sent again and again under one key.
struct OneRequest {
    caller: Client,
    path: String,
}

impl OneRequest {
    async fn on(instance: &Instance) -> Self {
        Load::on(instance).await;
        let caller = instance.sign_in().await;
        let cases = caller.get("/v1/cases").await.expect(200);
        let case = cases["items"][0]["id"].as_str().expect("a case");
        let path = format!("/v1/cases/{case}/scans");
        Self { caller, path }
    }

    async fn send(&self) -> Reply {
        let body = json!({"text": "]d2010952000000000117401231", "another_piece": true});
        let request = self.caller.request(Method::POST, &self.path);
        request.key("one and the same").json(&body).send().await
    }
}

#[actix_web::test]
async fn a_stopped_database_gives_503_and_the_same_request_succeeds_once_it_is_back() {
    let mut instance = Instance::new();
    instance.start_database();
    instance.serve();
    let request = OneRequest::on(&instance).await;
    instance.stop_database();
    for _ in 0..3 {
        let refused = request.send().await;
        let problem = refused.problem(503, "unavailable");
        assert!(refused.header("retry-after").is_some());
        // A 5xx tells nothing of what failed inside.
        assert!(problem.get("detail").is_none(), "{problem}");
    }
    let list = request.caller.get("/v1/cases").await;
    list.problem(503, "unavailable");
    instance
        .anybody()
        .get("/readyz")
        .await
        .problem(503, "unavailable");
    instance.anybody().get("/livez").await.expect(200);

    instance.start_database();
    let until = Instant::now() + Duration::from_secs(20);
    let recorded = loop {
        let reply = request.send().await;
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
    let again = request.send().await;
    assert_eq!(again.body, recorded.body);
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
    let scans = request.caller.get(&request.path).await.expect(200);
    assert_eq!(scans["items"].as_array().map(Vec::len), Some(1));
    instance.run(&["ledger", "verify"], "");
}

#[actix_web::test]
async fn a_scan_whose_commit_fails_after_its_rows_were_told_is_not_acknowledged() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    // Later scans write one statement: its row is told before its transaction commits.
    suite.scan(&case, &cannula.of_lot("A")).await;
    let superuser = suite.service.site.database.superuser().await;
    let fails = "CREATE FUNCTION no_commit() RETURNS trigger LANGUAGE plpgsql AS
            $$ BEGIN RAISE 'the commit failed'; END $$;
        CREATE CONSTRAINT TRIGGER no_commit AFTER INSERT ON scans
            DEFERRABLE INITIALLY DEFERRED FOR EACH ROW EXECUTE FUNCTION no_commit()";
    superuser.batch_execute(fails).await.expect("a trigger");
    let path = format!("/v1/cases/{case}/scans");
    let body = json!({"text": cannula.of_lot("A").text(), "another_piece": true});
    let refused = suite.circulator.post(&path, &body).await;
    refused.problem(503, "unavailable");
    superuser
        .batch_execute("DROP TRIGGER no_commit ON scans")
        .await
        .expect("no trigger");
    let scans = suite.circulator.get(&path).await.expect(200);
    assert_eq!(scans["items"].as_array().map(Vec::len), Some(1));
    suite.circulator.post(&path, &body).await.expect(201);
}

// PostgreSQL's documentation of synchronous_standby_names: a cancelled wait leaves the transaction
// committed on the primary alone, with a warning.
#[actix_web::test]
async fn a_commit_whose_wait_for_the_standby_was_cancelled_is_not_acknowledged() {
    let mut instance = Instance::new();
    instance.start_database();
    instance.serve();
    let request = OneRequest::on(&instance).await;
    let superuser = connect(instance.run(&["cluster", "url", "--superuser"], "").trim()).await;
    let standby = async |names: &str| {
        let names = format!("ALTER SYSTEM SET synchronous_standby_names = '{names}'");
        superuser.batch_execute(&names).await.expect("a setting");
        let reload = "SELECT pg_reload_conf()";
        superuser.batch_execute(reload).await.expect("a reload");
    };
    // A standby that nobody has: every commit waits for it.
    standby("nobody").await;
    let cancelling = async {
        loop {
            let waiting =
                "SELECT pg_cancel_backend(pid) FROM pg_stat_activity WHERE wait_event = 'SyncRep'";
            superuser
                .batch_execute(waiting)
                .await
                .expect("a cancellation");
            actix_web::rt::time::sleep(Duration::from_millis(50)).await;
        }
    };
    let refused = futures_util::future::select(Box::pin(request.send()), Box::pin(cancelling));
    match refused.await {
        Either::Left((refused, _)) => refused.problem(503, "unavailable"),
        Either::Right(((), _)) => unreachable!("cancelling has no end"),
    };
    standby("").await;
    // It stands on the primary, and its key gives its answer.
    let recorded = request.send().await;
    assert_eq!(recorded.status, 201, "{}", recorded.text());
    assert_eq!(recorded.header("idempotency-replayed"), Some("true"));
    instance.run(&["ledger", "verify"], "");
}
