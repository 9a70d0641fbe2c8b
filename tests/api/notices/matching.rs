//! What a notice hits: on cases, on shelves, in receipts.

use super::{add, classes, confirm_as, criterion, matches, recall};
use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::{Label, fresh_gtin};
use serde_json::{Value, json};

// trade.md 3.3 (our own design decision): affected, possible, cannot_exclude.
#[actix_web::test]
async fn past_uses_are_affected_possible_or_cannot_be_excluded() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let other = suite.cannula().await;
    let case = suite.case().await;
    for lot in ["0012AB", "12ab", "12AC"] {
        suite.scan(&case, &cannula.of_lot(lot)).await;
    }
    suite.scan(&case, &Label::of(&cannula.gtin)).await;
    suite.scan(&case, &other.of_lot("0012AB")).await;
    let struck = suite
        .scan(&case, &cannula.of_lot("0012AB").expiry("281130"))
        .await;
    suite.strike(&case, &text(&struck, "id")).await;
    let notice = recall(&suite, "FSN-1", &cannula, &["0012AB"]).await;
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "possible", "cannot_exclude"]);
    assert_eq!(found["struck"], 1);
    let counts = &found["counts"];
    assert_eq!(
        (
            &counts["affected"],
            &counts["possible"],
            &counts["cannot_exclude"]
        ),
        (&json!(1), &json!(1), &json!(1))
    );
    assert_eq!(
        (&counts["cases"], &counts["open_cases"]),
        (&json!(1), &json!(1))
    );
    assert_eq!(found["patients"][0]["class"], "affected");
    assert_eq!(found["patients"][0]["items"], 3);
}

#[actix_web::test]
async fn a_notice_names_a_product_by_any_packaging_level() {
    let suite = Suite::start().await;
    let (unit, package) = (fresh_gtin(), fresh_gtin());
    let product = suite
        .product(json!({"identifiers": [
            {"agency": "gs1", "code": unit, "level": "unit", "quantity": 1},
            {"agency": "gs1", "code": package, "level": "package", "quantity": 10},
        ]}))
        .await;
    let case = suite.case().await;
    let label = Label::of(&unit).lot("L1");
    suite.scan(&case, &label).await;
    suite
        .receive(&Label::of(&package).lot("L1").expiry("281231"), 2)
        .await;
    let notice = add(&suite, "FSN-1", "Lot L1").await;
    let criteria = [json!({"identifiers": [package], "lots": ["L1"]})];
    let confirmed = confirm_as(&suite.materials, &notice, &criteria).await;
    assert_eq!(confirmed["counts"]["affected"], 1);
    assert_eq!(confirmed["counts"]["on_hand"], 20);
    let found = matches(&suite, &notice).await;
    assert_eq!(found["products"][0]["id"], product.id);
    assert_eq!(found["receipts"][0]["quantity"], 20);
}

#[actix_web::test]
async fn a_catalogue_number_alone_hits_as_possible_and_a_product_id_as_it_stands() {
    let suite = Suite::start().await;
    let product = suite.product(json!({"model": "KX 12-b"})).await;
    let case = suite.case().await;
    suite.scan(&case, &product.of_lot("L1")).await;
    let by_number = add(&suite, "FSN-1", "Cat. No. KX12-B, lot L1").await;
    let criteria = [json!({"catalogue_numbers": ["kx12-B"], "lots": ["L1"]})];
    confirm_as(&suite.materials, &by_number, &criteria).await;
    let found = matches(&suite, &by_number).await;
    assert_eq!(classes(&found), ["possible"]);
    let by_id = add(&suite, "FSN-2", "Lot L1").await;
    let criteria = [json!({"product_ids": [product.id], "lots": ["L1"]})];
    confirm_as(&suite.materials, &by_id, &criteria).await;
    let found = matches(&suite, &by_id).await;
    assert_eq!(classes(&found), ["affected"]);
}

#[actix_web::test]
async fn named_serials_hit_their_pieces_and_what_has_no_serial_on_record() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let case = suite.case().await;
    for serial in ["SN-1", "sn-2", "SN-9"] {
        suite.scan(&case, &handpiece.piece("L1", serial)).await;
    }
    suite.scan(&case, &handpiece.of_lot("L1")).await;
    for serial in ["SN-3", "SN-4"] {
        suite.receive(&handpiece.piece("L1", serial), 1).await;
    }
    let notice = add(&suite, "FSN-1", "Serials SN-1 to SN-3").await;
    let range = json!([{"of": "serial", "from": "SN-1", "to": "SN-3"}]);
    let criteria = [criterion(&handpiece, json!({"ranges": range}))];
    let confirmed = confirm_as(&suite.materials, &notice, &criteria).await;
    assert_eq!(
        (&confirmed["held"], &confirmed["counts"]["on_hand"]),
        (&json!(1), &json!(1))
    );
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "possible", "cannot_exclude"]);
    assert_eq!(found["items"][0]["serial"], "SN-1");
    let holds = suite.circulator.get("/v1/holds").await.expect(200);
    assert_eq!(holds["items"][0]["scope"], "unit");
    assert_eq!(holds["items"][0]["notice_id"], notice["id"]);
}

#[actix_web::test]
async fn a_piece_used_under_another_lot_than_its_record_is_hit_by_either() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    suite.receive(&handpiece.piece("L1", "SN-1"), 1).await;
    let case = suite.case().await;
    suite.scan(&case, &handpiece.piece("L2", "SN-1")).await;
    for (reference, lot) in [("FSN-1", "L1"), ("FSN-2", "L2")] {
        let notice = recall(&suite, reference, &handpiece, &[lot]).await;
        let found = matches(&suite, &notice).await;
        assert_eq!(classes(&found), ["affected"], "{lot}");
    }
}

#[actix_web::test]
async fn what_stays_unread_and_unsettled_leaves_no_item_of_the_product_out() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("L1")).await;
    suite.scan(&case, &cannula.of_lot("B9")).await;
    let notice = add(&suite, "FSN-1", "Lot L1 and others as listed overleaf").await;
    let path = format!("/v1/notices/{}/confirm", text(&notice, "id"));
    let criteria = json!([criterion(&cannula, json!({"lots": ["L1"]}))]);
    let body = json!({"criteria": criteria, "settles_unread": false});
    suite.materials.change(&path, 1, &body).await.expect(200);
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "cannot_exclude"]);
}

#[actix_web::test]
async fn a_possible_lot_is_cleared_with_a_reason_and_a_named_one_never() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let mut lots = Vec::new();
    for label in [
        cannula.of_lot("012"),
        cannula.of_lot("12"),
        Label::of(&cannula.gtin),
    ] {
        lots.push(text(&suite.scan(&case, &label).await, "lot_id"));
    }
    let notice = recall(&suite, "FSN-1", &cannula, &["12"]).await;
    assert_eq!(classes(&matches(&suite, &notice).await).len(), 3);
    let path = format!("/v1/notices/{}/clear", text(&notice, "id"));
    let clear = |lot: &str| json!({"lot_id": lot, "reason": "Label compared by two people"});
    let named = suite.materials.post(&path, &clear(&lots[1])).await;
    named.problem(409, "differs");
    let unrecorded = suite.materials.post(&path, &clear(&lots[2])).await;
    unrecorded.problem(409, "differs");
    let cleared = suite
        .materials
        .post(&path, &clear(&lots[0]))
        .await
        .expect(201);
    assert_eq!(cleared["class"], "possible");
    suite
        .materials
        .post(&path, &clear(&lots[0]))
        .await
        .problem(409, "already-done");
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "cannot_exclude"]);
    let again = json!({"text": cannula.of_lot("012").text(), "another_piece": true});
    let scan: Value = suite.scan_body(&case, &again).await;
    assert_eq!(scan["verdict"], "look", "{scan}");
    // An update brings criteria that nobody compared with the lot.
    let mut wider = super::body("FSN-1b", "Lot 13");
    wider["follows_id"] = notice["id"].clone();
    let update = suite
        .materials
        .post("/v1/notices", &wider)
        .await
        .expect(201);
    let criteria = [criterion(&cannula, json!({"lots": ["13"]}))];
    confirm_as(&suite.materials, &update, &criteria).await;
    assert_eq!(classes(&matches(&suite, &notice).await).len(), 4);
}
