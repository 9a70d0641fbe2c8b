//! Scans, receipts and changes of the catalogue that come after a notice meet it.

use super::{add, classes, confirm_as, criterion, matches, recall};
use crate::harness::Suite;
use crate::harness::labels::{Label, fresh_gtin};
use crate::harness::suite::{Product, findings, judged, on_case};
use serde_json::json;

#[actix_web::test]
async fn a_later_scan_is_stopped_with_the_notice_as_the_source() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("B1"), 5).await;
    recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("L1")).await;
    judged(&scan, "stop", &["recalled", "not_in_stock"]);
    assert!(!on_case(&scan));
    let source = scan["findings"][0]["source"].as_str().expect("a source");
    assert!(
        source.contains("FSN-1") && source.contains("21 CFR 7.49(c)"),
        "{source}"
    );
    // Another lot of the product goes on; a label without its lot does not.
    let other = suite.scan(&case, &cannula.of_lot("B1")).await;
    assert_eq!(other["verdict"], "taken", "{other}");
    let without = suite.scan(&case, &Label::of(&cannula.gtin)).await;
    assert_eq!(without["verdict"], "stop", "{without}");
    assert!(findings(&without).contains(&"recalled"));
}

#[actix_web::test]
async fn a_hold_that_is_lifted_frees_nothing_that_a_notice_names() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("L1"), 5).await;
    recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let holds = suite.circulator.get("/v1/holds").await.expect(200);
    let hold = holds["items"][0]["id"].as_str().expect("a hold");
    let reason = json!({"reason": "Moved to quarantine"});
    let path = format!("/v1/holds/{hold}/lift");
    suite.materials.change(&path, 1, &reason).await.expect(200);
    let scan = suite.scan(&suite.case().await, &cannula.of_lot("L1")).await;
    judged(&scan, "stop", &["recalled"]);
}

#[actix_web::test]
async fn a_later_receipt_is_found_at_the_dock_and_held_in_its_commit() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    assert_eq!(notice["held"], 0);
    let receipt = suite.receive(&cannula.of_lot("L1"), 6).await;
    assert_eq!(findings(&receipt["lines"][0])[0], "recalled", "{receipt}");
    let holds = suite.circulator.get("/v1/holds").await.expect(200);
    assert_eq!(holds["items"].as_array().map(Vec::len), Some(1));
    assert_eq!(holds["items"][0]["notice_id"], notice["id"]);
    assert_eq!(holds["items"][0]["lot_id"], receipt["lines"][0]["lot_id"]);
    suite.receive(&cannula.of_lot("L1"), 6).await;
    let holds = suite.circulator.get("/v1/holds").await.expect(200);
    assert_eq!(holds["items"].as_array().map(Vec::len), Some(1));
    assert_eq!(matches(&suite, &notice).await["counts"]["on_hand"], 12);
}

#[actix_web::test]
async fn a_product_that_no_catalogue_has_meets_the_notice_that_names_its_code() {
    let suite = Suite::start().await;
    let unknown = Product {
        id: String::new(),
        gtin: fresh_gtin(),
    };
    let notice = recall(&suite, "FSN-1", &unknown, &["L1"]).await;
    assert_eq!(notice["counts"]["cases"], 0);
    let case = suite.case().await;
    let scan = suite.scan(&case, &unknown.of_lot("L1")).await;
    assert!(findings(&scan).contains(&"recalled"), "{scan}");
    let found = matches(&suite, &notice).await;
    assert_eq!(found["stopped"].as_array().map(Vec::len), Some(1));
}

#[actix_web::test]
async fn an_identifier_that_a_product_gets_later_brings_its_past_uses_into_the_notice() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("L1")).await;
    let package = fresh_gtin();
    let notice = add(&suite, "FSN-1", "Lot L1").await;
    let criteria = [json!({"identifiers": [package], "lots": ["L1"]})];
    let confirmed = confirm_as(&suite.materials, &notice, &criteria).await;
    assert_eq!(confirmed["counts"]["affected"], 0);
    let path = format!("/v1/products/{}/identifiers", cannula.id);
    let more = json!({"agency": "gs1", "code": package, "level": "package", "quantity": 10});
    suite.materials.post(&path, &more).await.expect(201);
    assert_eq!(classes(&matches(&suite, &notice).await), ["affected"]);
    let scan = suite.scan(&suite.case().await, &cannula.of_lot("L1")).await;
    assert!(findings(&scan).contains(&"recalled"), "{scan}");
}

#[actix_web::test]
async fn an_expiry_window_stops_what_lies_in_it_and_what_shows_no_expiry() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let notice = add(&suite, "FSN-1", "Expiring in March 2028").await;
    let window = json!({"expires_from": "2028-03-01", "expires_to": "2028-03-31"});
    let criteria = [criterion(&cannula, window)];
    confirm_as(&suite.materials, &notice, &criteria).await;
    let case = suite.case().await;
    for (label, stopped) in [
        (cannula.of_lot("A").expiry("280301"), true),
        (cannula.of_lot("B").expiry("280331"), true),
        (cannula.of_lot("C").expiry("280401"), false),
        (Label::of(&cannula.gtin).lot("D"), true),
    ] {
        let scan = suite.scan(&case, &label).await;
        assert_eq!(findings(&scan).contains(&"recalled"), stopped, "{scan}");
    }
}

#[actix_web::test]
async fn a_use_is_found_by_the_lot_that_a_later_receipt_gave_its_piece() {
    let suite = Suite::start().await;
    let carries = json!({"lot": false, "serial": true, "expiry": false});
    let tray = suite.product(json!({"use_class": "reusable", "carries": carries}));
    let tray = tray.await;
    let piece = || Label::of(&tray.gtin);
    suite.receive(&piece().serial("T1"), 1).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &piece().serial("T1")).await;
    assert!(on_case(&scan), "{scan}");
    // The record of the piece had no lot when it was used.
    suite.receive(&piece().lot("L1").serial("T1"), 1).await;
    let notice = recall(&suite, "FSN-1", &tray, &["L1"]).await;
    let found = matches(&suite, &notice).await;
    assert_eq!(found["items"][0]["scan_id"], scan["id"], "{found}");
    assert_eq!(found["items"][0]["serial"], "T1");
    assert_eq!(classes(&found).len(), 1);
}

#[actix_web::test]
async fn a_piece_that_was_used_under_another_lot_is_found_by_the_lot_on_its_record() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("A", "1"), 1).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &handpiece.piece("B", "1")).await;
    assert!(on_case(&scan), "{scan}");
    for (reference, lot) in [("FSN-1", "A"), ("FSN-2", "B")] {
        let notice = recall(&suite, reference, &handpiece, &[lot]).await;
        let found = matches(&suite, &notice).await;
        assert_eq!(found["items"][0]["scan_id"], scan["id"], "{lot}: {found}");
        assert_eq!(classes(&found).len(), 1);
    }
}
