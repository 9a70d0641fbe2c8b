//! Two services on one database, as two rooms on two machines: one piece is used once.

use crate::harness::labels::{Label, fresh_gtin};
use crate::harness::service::MASTER;
use crate::harness::suite::findings;
use crate::harness::{Client, Service, Suite, TestClock};
use futures_util::future::join_all;
use jiff::SignedDuration;
use lotwarden_api::access::tokens::new_key;
use lotwarden_domain::Clock;
use lotwarden_store::access;
use lotwarden_store::sealing::Key;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::sync::Arc;

/// Attempts at one piece, over both services together.
const ATTEMPTS: usize = 240;

async fn two_services() -> (Suite, Client) {
    let suite = Suite::start().await;
    let second = Service::on(Arc::clone(&suite.service.site), 1_000_000).await;
    let other = Client {
        base: second.base.clone(),
        ..suite.circulator.clone()
    };
    // Kept running until the test's process ends with the suite's database.
    std::mem::forget(second);
    (suite, other)
}

/// Scans one label on each case at the same moment, half of the requests at each service.
async fn all_at_once(callers: [&Client; 2], cases: &[String], label: &Label) -> Vec<Value> {
    let body = json!({"text": label.text()});
    let attempts = cases.iter().enumerate().map(|(at, case)| {
        let (caller, body) = (callers[at % 2].clone(), body.clone());
        async move {
            caller
                .post(&format!("/v1/cases/{case}/scans"), &body)
                .await
                .expect(201)
        }
    });
    join_all(attempts).await
}

fn by_verdict(scans: &[Value]) -> BTreeMap<&str, usize> {
    let mut count = BTreeMap::new();
    for scan in scans {
        *count
            .entry(scan["verdict"].as_str().expect("a verdict"))
            .or_default() += 1;
    }
    count
}

#[actix_web::test]
async fn of_240_simultaneous_scans_of_one_piece_over_two_services_exactly_one_is_taken() {
    let (suite, other) = two_services().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-000417");
    suite.receive(&piece, 1).await;
    let cases = join_all((0..ATTEMPTS).map(|_| suite.case())).await;
    let scans = all_at_once([&suite.circulator, &other], &cases, &piece).await;
    assert_eq!(
        by_verdict(&scans),
        BTreeMap::from([("stop", ATTEMPTS - 1), ("taken", 1)])
    );
    for scan in scans.iter().filter(|scan| scan["verdict"] == "stop") {
        assert!(findings(scan).contains(&"already_used"), "{scan}");
    }
    let database = &suite.service.site.database;
    assert_eq!(database.column("SELECT count(*) FROM uses").await, ["1"]);
    assert_eq!(
        database
            .column("SELECT count(*) FROM uses WHERE claims_unit")
            .await,
        ["1"]
    );
    let on_record = database.column("SELECT count(*) FROM scans").await;
    assert_eq!(
        on_record,
        [ATTEMPTS.to_string()],
        "a stopped scan is not on record"
    );
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}

#[actix_web::test]
async fn a_lot_of_five_is_drawn_from_five_times_by_60_simultaneous_scans_over_two_services() {
    let (suite, other) = two_services().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let cases = join_all((0..60).map(|_| suite.case())).await;
    let scans = all_at_once([&suite.circulator, &other], &cases, &cannula.of_lot("A")).await;
    assert_eq!(
        by_verdict(&scans),
        BTreeMap::from([("look", 55), ("taken", 5)])
    );
    assert!(suite.stock().await.is_empty());
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}

#[actix_web::test]
async fn a_service_whose_clock_is_a_little_behind_the_others_records_all_the_same() {
    let suite = Suite::start().await;
    let site = &suite.service.site;
    // 5 seconds are what a ledger bears (the clocks of one site are kept closer than that by NTP).
    let behind = TestClock::at(site.clock.reading() - SignedDuration::from_secs(2));
    let second = Service::by(Arc::new(behind), Arc::clone(site), 1_000_000).await;
    let other = Client {
        base: second.base.clone(),
        ..suite.circulator.clone()
    };
    let cannula = suite.cannula().await;
    for lot in ["A", "B", "C"] {
        let case = suite.case().await;
        suite.scan(&case, &cannula.of_lot(lot)).await;
        let body = json!({"text": cannula.of_lot(lot).text(), "another_piece": true});
        other
            .post(&format!("/v1/cases/{case}/scans"), &body)
            .await
            .expect(201);
        other
            .post("/v1/cases", &suite.case_body("MRN-1", "Example, Robin"))
            .await
            .expect(201);
    }
    crate::conformance::chain::holds(&suite.service, site.facility).await;
    drop(second);
}

#[actix_web::test]
async fn one_request_sent_to_both_services_at_once_is_recorded_once() {
    let (suite, other) = two_services().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/scans");
    for round in 0..20 {
        let body = json!({"text": cannula.of_lot(&format!("L{round}")).text()});
        let key = format!("round-{round}");
        let send = |caller: &Client| {
            caller
                .request(reqwest::Method::POST, &path)
                .key(&key)
                .json(&body)
                .send()
        };
        let (one, two) = futures_util::future::join(send(&suite.circulator), send(&other)).await;
        assert_eq!(
            (one.status, two.status),
            (201, 201),
            "{} {}",
            one.text(),
            two.text()
        );
        assert_eq!(one.body, two.body);
    }
    assert_eq!(
        suite
            .service
            .site
            .database
            .column("SELECT count(*) FROM scans")
            .await,
        ["20"]
    );
}

#[actix_web::test]
async fn a_hold_placed_at_one_service_stops_the_next_scan_at_the_other() {
    let (suite, other) = two_services().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 50).await;
    for _ in 0..10 {
        let case = suite.case().await;
        let path = format!("/v1/cases/{case}/scans");
        // The other service knows the product and its lots from its own last scan.
        let free = other
            .post(&path, &json!({"text": cannula.of_lot("A").text()}))
            .await
            .expect(201);
        assert_eq!(free["verdict"], "taken", "{free}");
        let hold = suite.hold("product", &cannula.id).await;
        let body = json!({"text": cannula.of_lot("A").text(), "another_piece": true});
        let held = other.post(&path, &body).await.expect(201);
        assert_eq!(held["verdict"], "stop", "{held}");
        assert!(findings(&held).contains(&"on_hold"));
        let lift = format!("/v1/holds/{}/lift", hold["id"].as_str().expect("an id"));
        suite
            .materials
            .change(&lift, 1, &json!({"reason": "Seals were checked"}))
            .await
            .expect(200);
    }
}

#[actix_web::test]
async fn a_box_of_ten_is_drawn_from_ten_times_by_scans_with_and_without_serials() {
    let (suite, other) = two_services().await;
    let (unit, boxed) = (fresh_gtin(), fresh_gtin());
    let identifiers = json!([
        {"agency": "gs1", "code": unit, "level": "unit", "quantity": 1},
        {"agency": "gs1", "code": boxed, "level": "package", "quantity": 10},
    ]);
    suite.product(json!({"identifiers": identifiers})).await;
    let of = |gtin: &str| Label::of(gtin).expiry("281231").lot("A");
    suite.receive(&of(&boxed), 1).await;
    let cases = join_all((0..60).map(|_| suite.case())).await;
    let attempts = cases.iter().enumerate().map(|(at, case)| {
        let caller = [&suite.circulator, &other][at % 2].clone();
        let label = match at % 3 {
            0 => of(&unit),
            _ => of(&unit).serial(&format!("S{at}")),
        };
        async move {
            let path = format!("/v1/cases/{case}/scans");
            let body = json!({"text": label.text()});
            caller.post(&path, &body).await.expect(201)
        }
    });
    let scans = join_all(attempts).await;
    let drawn = scans
        .iter()
        .filter(|scan| scan["item"]["drawn_from_id"].is_string());
    assert_eq!(drawn.count(), 10);
    assert_eq!(suite.stock().await, Vec::<Vec<Option<String>>>::new());
}

#[actix_web::test]
async fn processes_that_start_at_once_sign_tokens_with_one_key() {
    let suite = Suite::start().await;
    let site = &suite.service.site;
    let superuser = site.database.superuser().await;
    superuser
        .batch_execute("DELETE FROM token_keys")
        .await
        .expect("no key");
    let database = lotwarden_store::Database::new(&site.database.service_url(), 8).expect("a pool");
    let master = Key::new(MASTER);
    let now = site.clock.now();
    let starts = (0..8).map(|_| access::token_keys(&database, &master, new_key, now));
    for keys in join_all(starts).await {
        assert_eq!(keys.expect("token keys").len(), 1);
    }
    let kept = "SELECT count(*) FROM token_keys";
    assert_eq!(site.database.column(kept).await, ["1"]);
}
