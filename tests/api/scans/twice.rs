//! The same piece, the same label, the same request: twice.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::labels::{Label, fresh_gtin};
use crate::harness::suite::{findings, judged, on_case};
use serde_json::json;

#[actix_web::test]
async fn a_single_use_unit_is_taken_once_and_stopped_the_second_time() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-000417");
    suite.receive(&piece, 1).await;
    let (first, second) = (suite.case().await, suite.case().await);
    judged(&suite.scan(&first, &piece).await, "taken", &[]);
    let again = suite.scan(&second, &piece).await;
    judged(&again, "stop", &["already_used"]);
    assert!(!on_case(&again));
    // The stopped scan is on record, with its own entry.
    let listed = suite
        .circulator
        .get(&format!("/v1/cases/{second}/scans"))
        .await
        .expect(200);
    assert_eq!(listed["items"][0]["id"], again["id"]);
    assert_eq!(listed["items"][0]["verdict"], "stop");
}

#[actix_web::test]
async fn a_single_use_unit_stays_used_after_its_case_is_over() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    let (first, second) = (suite.case().await, suite.case().await);
    suite.scan(&first, &piece).await;
    suite.advance(&first, "start").await;
    suite.advance(&first, "complete").await;
    let again = suite.scan(&second, &piece).await;
    assert_eq!(again["verdict"], "stop");
    assert!(findings(&again).contains(&"already_used"));
}

#[actix_web::test]
async fn the_same_serial_of_another_product_is_another_piece() {
    let suite = Suite::start().await;
    let (one, two) = (suite.handpiece().await, suite.handpiece().await);
    suite.receive(&one.piece("L1", "SN-1"), 1).await;
    suite.receive(&two.piece("L1", "SN-1"), 1).await;
    let case = suite.case().await;
    judged(
        &suite.scan(&case, &one.piece("L1", "SN-1")).await,
        "taken",
        &[],
    );
    judged(
        &suite.scan(&case, &two.piece("L1", "SN-1")).await,
        "taken",
        &[],
    );
}

#[actix_web::test]
async fn a_piece_is_the_same_one_by_whichever_symbol_it_is_read() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let (first, second) = (suite.case().await, suite.case().await);
    suite.scan(&first, &handpiece.piece("L1", "SN-1")).await;
    // The same elements in another order, without symbology identifier, FNC1 typed as ^.
    let other = format!("^01{}21SN-1^10L1^17281231", handpiece.gtin);
    let again = suite.scan_text(&second, &other).await;
    assert_eq!(again["verdict"], "stop");
    assert!(findings(&again).contains(&"already_used"));
}

#[actix_web::test]
async fn a_reusable_piece_goes_on_case_after_case() {
    let suite = Suite::start().await;
    let instrument = suite
        .product(json!({"kind": "instrument", "use_class": "reusable", "carries": {"lot": false, "serial": true, "expiry": false}}))
        .await;
    let label = Label::of(&instrument.gtin).serial("TRAY-7");
    for _ in 0..3 {
        let case = suite.case().await;
        let scan = suite.scan(&case, &label).await;
        assert_ne!(scan["verdict"], "stop", "{scan}");
        assert!(on_case(&scan));
    }
}

#[actix_web::test]
async fn the_same_characters_again_on_a_case_name_the_first_scan_and_add_nothing() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let case = suite.case().await;
    let first = suite.scan(&case, &cannula.of_lot("A")).await;
    let again = suite.scan(&case, &cannula.of_lot("A")).await;
    judged(&again, "look", &["same_scan_again"]);
    assert!(!on_case(&again));
    assert_eq!(again["first_scan_id"], first["id"]);
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("4"));
    let shown = suite.show(&case).await;
    assert_eq!(shown["counts"]["items"], json!({"used": 1}));
}

#[actix_web::test]
async fn another_piece_of_the_lot_is_taken_when_the_person_says_so() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let body = json!({"text": cannula.of_lot("A").text(), "another_piece": true});
    let second = suite.scan_body(&case, &body).await;
    judged(&second, "taken", &[]);
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("3"));
    let shown = suite.show(&case).await;
    assert_eq!(shown["counts"]["items"], json!({"used": 2}));
}

#[actix_web::test]
async fn a_serialised_piece_is_never_another_piece() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    suite.receive(&piece, 1).await;
    let case = suite.case().await;
    let first = suite.scan(&case, &piece).await;
    let body = json!({"text": piece.text(), "another_piece": true});
    let again = suite.scan_body(&case, &body).await;
    judged(&again, "look", &["same_scan_again"]);
    assert!(!on_case(&again));
    assert_eq!(again["first_scan_id"], first["id"]);
}

#[actix_web::test]
async fn a_strike_releases_the_piece_and_puts_it_back_in_stock() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    suite.receive(&piece, 1).await;
    let (wrong, right) = (suite.case().await, suite.case().await);
    let scan = suite.scan(&wrong, &piece).await;
    assert!(suite.stock().await.is_empty());
    let struck = suite.strike(&wrong, &text(&scan, "id")).await;
    assert_eq!(struck["strike"]["reason"], "Scanned on the wrong case");
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("1"));
    judged(&suite.scan(&right, &piece).await, "taken", &[]);
    // The struck scan stays visible.
    let listed = suite
        .circulator
        .get(&format!("/v1/cases/{wrong}/scans"))
        .await
        .expect(200);
    assert_eq!(listed["items"][0]["id"], scan["id"]);
    assert!(listed["items"][0]["strike"].is_object());
}

#[actix_web::test]
async fn a_struck_label_may_be_scanned_again_on_the_same_case() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 1).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("A")).await;
    suite.strike(&case, &text(&scan, "id")).await;
    judged(&suite.scan(&case, &cannula.of_lot("A")).await, "taken", &[]);
}

#[actix_web::test]
async fn a_scan_is_struck_once() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("A")).await;
    suite.strike(&case, &text(&scan, "id")).await;
    let path = format!("/v1/cases/{case}/scans/{}/strike", text(&scan, "id"));
    suite
        .circulator
        .post(&path, &json!({"reason": "Once more"}))
        .await
        .problem(409, "already-done");
}

#[actix_web::test]
async fn a_retried_scan_is_one_scan_with_the_same_bytes() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/scans");
    let body = json!({"text": cannula.of_lot("A").text()});
    let send = || {
        suite
            .circulator
            .request(reqwest::Method::POST, &path)
            .key("the-same-key")
            .json(&body)
            .send()
    };
    let first = send().await;
    first.expect(201);
    let again = send().await;
    assert_eq!((again.status, &again.body), (201, &first.body));
    assert_eq!(again.header("idempotency-replayed"), Some("true"));
    let at_once = futures_util::future::join_all((0..10).map(|_| send())).await;
    assert!(at_once.iter().all(|reply| reply.body == first.body));
    let listed = suite.circulator.get(&path).await.expect(200);
    assert_eq!(listed["items"].as_array().map(Vec::len), Some(1));
    let other = json!({"text": cannula.of_lot("B").text()});
    let reused = suite
        .circulator
        .request(reqwest::Method::POST, &path)
        .key("the-same-key")
        .json(&other)
        .send()
        .await;
    reused.problem(422, "key-reused");
}

#[actix_web::test]
async fn a_piece_follows_what_its_product_is_described_as_later() {
    let suite = Suite::start().await;
    let gtin = fresh_gtin();
    let tray = Label::of(&gtin).serial("T-7");
    let first = suite.scan(&suite.case().await, &tray).await;
    assert!(findings(&first).contains(&"unknown_product"));
    // Nobody knows yet what it is, so it counts as single-use.
    let second = suite.scan(&suite.case().await, &tray).await;
    assert!(findings(&second).contains(&"already_used"));
    let describe = |use_class: &str| {
        json!({
            "name": "Instrument tray", "maker": "Invented Instruments", "model": "T1",
            "kind": "other", "use_class": use_class,
            "carries": {"lot": false, "serial": true, "expiry": false},
            "identifiers": [{"agency": "gs1", "code": gtin, "level": "unit", "quantity": 1}],
        })
    };
    let added = suite
        .materials
        .post("/v1/products", &describe("reusable"))
        .await
        .expect(201);
    for _ in 0..2 {
        let scan = suite.scan(&suite.case().await, &tray).await;
        assert!(!findings(&scan).contains(&"already_used"), "{scan}");
        assert!(on_case(&scan));
    }
    let mut single = describe("single_use");
    single
        .as_object_mut()
        .expect("an object")
        .remove("identifiers");
    let path = format!("/v1/products/{}", text(&added, "id"));
    let shown = suite.materials.get(&path).await.expect(200);
    suite
        .materials
        .put(&path, version(&shown), &single)
        .await
        .expect(200);
    let scan = suite.scan(&suite.case().await, &tray).await;
    assert!(findings(&scan).contains(&"already_used"), "{scan}");
}

/// A handpiece with the identifier of its box of ten.
async fn boxed(suite: &Suite) -> (String, String) {
    let (unit, boxed) = (fresh_gtin(), fresh_gtin());
    let identifiers = json!([
        {"agency": "gs1", "code": unit, "level": "unit", "quantity": 1},
        {"agency": "gs1", "code": boxed, "level": "package", "quantity": 10},
    ]);
    let carries = json!({"lot": true, "serial": false, "expiry": true});
    suite
        .product(json!({"identifiers": identifiers, "carries": carries}))
        .await;
    (unit, boxed)
}

#[actix_web::test]
async fn the_serial_of_a_box_names_none_of_the_pieces_in_it() {
    let suite = Suite::start().await;
    let (_, boxed) = boxed(&suite).await;
    let label = Label::of(&boxed).expiry("281231").lot("A").serial("BOX-1");
    suite.receive(&label, 1).await;
    let case = suite.case().await;
    judged(&suite.scan(&case, &label).await, "taken", &[]);
    judged(&suite.scan(&suite.case().await, &label).await, "taken", &[]);
    // On the same case it may be the same piece, unless somebody says that it is another.
    judged(
        &suite.scan(&case, &label).await,
        "look",
        &["same_scan_again"],
    );
    let another = json!({"text": label.text(), "another_piece": true});
    assert!(on_case(&suite.scan_body(&case, &another).await));
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("7"));
}

#[actix_web::test]
async fn a_serialised_piece_that_came_in_a_box_is_drawn_from_the_box_s_stock() {
    let suite = Suite::start().await;
    let (unit, boxed) = boxed(&suite).await;
    suite
        .receive(&Label::of(&boxed).expiry("281231").lot("A"), 1)
        .await;
    let piece = |serial: &str| Label::of(&unit).expiry("281231").lot("A").serial(serial);
    suite.receive(&piece("RECEIVED"), 1).await;
    let left = || async { suite.stock().await[0][2].clone() };
    let case = suite.case().await;
    let scan = suite.scan(&case, &piece("S1")).await;
    judged(&scan, "taken", &[]);
    assert_eq!(left().await.as_deref(), Some("10"));
    judged(
        &suite.scan(&suite.case().await, &piece("S1")).await,
        "stop",
        &["already_used"],
    );
    suite.strike(&case, &text(&scan, "id")).await;
    assert_eq!(left().await.as_deref(), Some("11"));
    judged(&suite.scan(&case, &piece("S1")).await, "taken", &[]);
    // The nine others may be any serial that was not received by itself.
    let asked = suite
        .where_used(&format!("identifier={unit}&serial=S2"))
        .await;
    assert_eq!(asked["on_hand"][0]["quantity"], 9, "{asked}");
    assert_eq!(asked["on_hand"][0]["class"], "cannot_exclude");
    for serial in 2..=10 {
        let serial = format!("S{serial}");
        judged(
            &suite.scan(&suite.case().await, &piece(&serial)).await,
            "taken",
            &[],
        );
    }
    // What is left stands for the piece that was received by its serial.
    judged(
        &suite.scan(&suite.case().await, &piece("S11")).await,
        "look",
        &["not_in_stock"],
    );
    judged(
        &suite.scan(&suite.case().await, &piece("RECEIVED")).await,
        "taken",
        &[],
    );
}
