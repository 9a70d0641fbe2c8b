//! What a scan comes to: every rule, as a sentence.

mod expiry;
mod kept;
mod readings;
mod twice;

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::Label;
use crate::harness::suite::{findings, judged, on_case};
use serde_json::json;

#[actix_web::test]
async fn a_received_item_is_taken_and_leaves_the_shelf() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("L2611A"), 3).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("L2611A")).await;
    judged(&scan, "taken", &[]);
    assert_eq!(scan["item"]["disposition"], "used");
    assert_eq!(scan["item"]["drawn_from_id"], json!(suite.shelf));
    assert_eq!(scan["label"]["lot"], "L2611A");
    assert_eq!(scan["label"]["expires_on"], "2028-12-31");
    assert_eq!(scan["product"]["id"], json!(cannula.id));
    let stock = suite.stock().await;
    assert_eq!(stock[0][2].as_deref(), Some("2"));
}

#[actix_web::test]
async fn an_item_that_was_never_received_is_shown_and_goes_on_the_case() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("L2611A")).await;
    judged(&scan, "look", &["not_in_stock"]);
    assert!(on_case(&scan));
    assert!(scan["item"].get("drawn_from_id").is_none());
}

#[actix_web::test]
async fn the_last_piece_of_a_lot_leaves_nothing_and_stock_never_goes_below() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("L2611A"), 1).await;
    let (first, second) = (suite.case().await, suite.case().await);
    judged(
        &suite.scan(&first, &cannula.of_lot("L2611A")).await,
        "taken",
        &[],
    );
    judged(
        &suite.scan(&second, &cannula.of_lot("L2611A")).await,
        "look",
        &["not_in_stock"],
    );
    assert!(suite.stock().await.is_empty());
}

#[actix_web::test]
async fn a_site_that_keeps_no_stock_is_not_told_about_it() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let settings = json!({"expires_soon_days": 30, "short_dated_days": 182, "keeps_stock": false, "idle_lock_minutes": 15, "due_equipment_stops": false, "clock_skew_seconds": 120});
    let change = json!({"settings": settings, "reason": "No stock is kept here."});
    suite
        .compliance
        .put("/v1/policy", 1, &change)
        .await
        .expect(200);
    let case = suite.case().await;
    judged(
        &suite.scan(&case, &cannula.of_lot("L2611A")).await,
        "taken",
        &[],
    );
}

#[actix_web::test]
async fn a_product_that_nobody_described_is_shown_and_found_again_by_where_used() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let label = Label::of(&crate::harness::labels::gtin(777_000_111))
        .expiry("281231")
        .lot("X9");
    let scan = suite.scan(&case, &label).await;
    judged(&scan, "look", &["unknown_product", "not_in_stock"]);
    assert!(on_case(&scan));
    let used = suite
        .where_used(&format!("identifier={}&lot=X9", label.gtin))
        .await;
    assert_eq!(used["items"][0]["case_id"], json!(case));
    assert_eq!(used["items"][0]["class"], "affected");
}

#[actix_web::test]
async fn a_label_without_what_the_catalogue_says_it_carries_is_incomplete() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let case = suite.case().await;
    let only_product = suite.scan(&case, &Label::of(&handpiece.gtin)).await;
    judged(&only_product, "look", &["incomplete_label", "not_in_stock"]);
    let sentence = only_product["findings"].to_string();
    for part in ["lot", "serial", "expiry date"] {
        assert!(sentence.contains(part), "{part} is not named: {sentence}");
    }
    let without_serial = suite.scan(&case, &handpiece.of_lot("L1")).await;
    assert!(findings(&without_serial).contains(&"incomplete_label"));
}

#[actix_web::test]
async fn a_reading_that_names_no_product_goes_on_no_case() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    // AI 10 and 17 alone: the second symbol of a label that has two (GS1 General Specifications, 2.6.2).
    let scan = suite.scan_text(&case, "]C11728123110L2611A").await;
    judged(&scan, "look", &["incomplete_label"]);
    assert!(!on_case(&scan));
}

#[actix_web::test]
async fn a_held_product_lot_or_piece_is_stopped_and_others_are_not() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    for (lot, serial) in [("A", "1"), ("A", "2"), ("B", "3"), ("B", "4")] {
        suite.receive(&handpiece.piece(lot, serial), 1).await;
    }
    let case = suite.case().await;
    let first = suite.scan(&case, &handpiece.piece("A", "1")).await;
    judged(&first, "taken", &[]);

    let lot = suite.hold("lot", &text(&first, "lot_id")).await;
    let other = suite.case().await;
    let stopped = suite.scan(&other, &handpiece.piece("A", "2")).await;
    judged(&stopped, "stop", &["on_hold"]);
    assert!(!on_case(&stopped));
    assert!(stopped["findings"].to_string().contains("Pouch seals open"));
    judged(
        &suite.scan(&other, &handpiece.piece("B", "3")).await,
        "taken",
        &[],
    );

    suite.hold("product", &handpiece.id).await;
    let both = suite.scan(&other, &handpiece.piece("A", "2")).await;
    judged(&both, "stop", &["on_hold", "on_hold"]);
    judged(
        &suite.scan(&other, &handpiece.piece("B", "4")).await,
        "stop",
        &["on_hold"],
    );
    assert_eq!(lot["scope"], "lot");
}

#[actix_web::test]
async fn a_held_piece_is_stopped_and_the_rest_of_its_lot_is_not() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    suite.receive(&handpiece.piece("A", "2"), 1).await;
    let units = "SELECT id FROM units WHERE serial = '1'";
    let unit = suite.service.site.database.column(units).await[0].clone();
    suite.hold("unit", &unit).await;
    let case = suite.case().await;
    judged(
        &suite.scan(&case, &handpiece.piece("A", "1")).await,
        "stop",
        &["on_hold"],
    );
    judged(
        &suite.scan(&case, &handpiece.piece("A", "2")).await,
        "taken",
        &[],
    );
}

#[actix_web::test]
async fn a_label_without_its_lot_is_stopped_while_a_lot_of_the_product_is_held() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 2).await;
    suite.receive(&cannula.of_lot("B"), 2).await;
    let case = suite.case().await;
    let first = suite.scan(&case, &cannula.of_lot("A")).await;
    suite.hold("lot", &text(&first, "lot_id")).await;
    let scan = suite
        .scan(&case, &Label::of(&cannula.gtin).expiry("281231"))
        .await;
    assert_eq!(scan["verdict"], "stop");
    assert!(findings(&scan).contains(&"on_hold"));
    assert!(!on_case(&scan));
}

#[actix_web::test]
async fn a_lifted_hold_stops_nothing() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 2).await;
    let hold = suite.hold("product", &cannula.id).await;
    let case = suite.case().await;
    judged(
        &suite.scan(&case, &cannula.of_lot("A")).await,
        "stop",
        &["on_hold"],
    );
    let lift = format!("/v1/holds/{}/lift", text(&hold, "id"));
    suite
        .materials
        .change(&lift, 1, &json!({"reason": "Seals were checked"}))
        .await
        .expect(200);
    judged(&suite.scan(&case, &cannula.of_lot("A")).await, "taken", &[]);
}

#[actix_web::test]
async fn nothing_goes_on_a_case_that_is_over() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    let case = suite.case().await;
    suite.advance(&case, "start").await;
    judged(&suite.scan(&case, &cannula.of_lot("A")).await, "taken", &[]);
    suite.advance(&case, "complete").await;
    let late = suite
        .scan_body(&case, &json!({"text": cannula.of_lot("B").text()}))
        .await;
    assert_eq!(late["verdict"], "stop");
    assert!(findings(&late).contains(&"case_closed"));
    assert!(!on_case(&late));
    let cancelled = suite.case().await;
    let path = format!("/v1/cases/{cancelled}/cancel");
    suite
        .circulator
        .change(&path, 1, &json!({"reason": "Postponed"}))
        .await
        .expect(200);
    judged(
        &suite.scan(&cancelled, &cannula.of_lot("A")).await,
        "stop",
        &["case_closed"],
    );
}

#[actix_web::test]
async fn every_finding_is_told_and_the_worst_one_decides() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let expired = Label::of(&handpiece.gtin)
        .expiry("260131")
        .lot("OLD")
        .serial("1");
    suite.receive(&expired, 1).await;
    let first = suite.case().await;
    judged(&suite.scan(&first, &expired).await, "stop", &["expired"]);
    suite.hold("product", &handpiece.id).await;
    let other = Label::of(&handpiece.gtin).expiry("260131").serial("2");
    let second = suite.case().await;
    suite.advance(&second, "start").await;
    suite.advance(&second, "complete").await;
    let scan = suite.scan(&second, &other).await;
    judged(
        &scan,
        "stop",
        &[
            "case_closed",
            "expired",
            "on_hold",
            "incomplete_label",
            "not_in_stock",
        ],
    );
    let severities: Vec<&str> = scan["findings"]
        .as_array()
        .expect("findings")
        .iter()
        .filter_map(|one| one["severity"].as_str())
        .collect();
    assert_eq!(
        severities,
        ["stop", "stop", "stop", "look", "look"],
        "worst first"
    );
}

#[actix_web::test]
async fn a_piece_whose_record_says_another_lot_is_shown() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &handpiece.piece("B", "1")).await;
    assert!(findings(&scan).contains(&"record_differs"), "{scan}");
}

#[actix_web::test]
async fn of_two_expiry_dates_the_earlier_one_counts() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite
        .receive(&Label::of(&cannula.gtin).expiry("260131").lot("A"), 1)
        .await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("A")).await;
    judged(&scan, "stop", &["expired", "record_differs"]);
}
