//! Where an item was used: patients, cases, stock, receipts; certain and not to be excluded.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::Label;
use serde_json::{Value, json};

fn classes(answer: &Value, list: &str) -> Vec<(String, String)> {
    let items = answer[list].as_array().expect("a list").iter();
    let mut found: Vec<_> = items
        .map(|item| (text(item, "class"), text(item, "case_id")))
        .collect();
    found.sort();
    found
}

#[actix_web::test]
async fn the_patients_of_a_lot_are_named_and_those_without_a_lot_cannot_be_excluded() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 5).await;
    suite.receive(&cannula.of_lot("B"), 5).await;
    let affected = suite.case_of("MRN-A", "Example, Robin").await;
    let other = suite.case_of("MRN-B", "Sample, Alex").await;
    let unknown = suite.case_of("MRN-C", "Specimen, Kim").await;
    suite.scan(&affected, &cannula.of_lot("A")).await;
    suite.scan(&other, &cannula.of_lot("B")).await;
    suite.scan(&unknown, &Label::of(&cannula.gtin)).await;

    let answer = suite
        .where_used(&format!("identifier={}&lot=A", cannula.gtin))
        .await;
    assert_eq!(
        classes(&answer, "items"),
        [
            ("affected".to_owned(), affected.clone()),
            ("cannot_exclude".to_owned(), unknown.clone())
        ]
    );
    assert_eq!(
        answer["counts"],
        json!({"affected": 1, "cannot_exclude": 1, "cases": 2, "patients": 2, "struck": 0})
    );
    let named = answer["items"]
        .as_array()
        .expect("items")
        .iter()
        .find(|item| item["case_id"] == json!(affected));
    let named = named.expect("the affected case");
    assert_eq!(named["patient"]["name"], "Example, Robin");
    assert_eq!(named["patient"]["record_number"], "MRN-A");
    assert_eq!(named["disposition"], "used");
    assert!(
        !answer.to_string().contains("Sample, Alex"),
        "a patient of another lot is named"
    );
}

#[actix_web::test]
async fn all_lots_of_a_product_are_found_without_a_lot() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    for lot in ["A", "B"] {
        let case = suite.case().await;
        suite.scan(&case, &cannula.of_lot(lot)).await;
    }
    let answer = suite
        .where_used(&format!("identifier={}", cannula.gtin))
        .await;
    assert_eq!(answer["counts"]["affected"], 2);
    assert_eq!(answer["counts"]["cannot_exclude"], 0);
}

#[actix_web::test]
async fn a_serial_finds_its_piece_and_what_has_no_serial_cannot_be_excluded() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let (one, two, three) = (suite.case().await, suite.case().await, suite.case().await);
    suite.scan(&one, &handpiece.piece("A", "1")).await;
    suite.scan(&two, &handpiece.piece("A", "2")).await;
    suite.scan(&three, &handpiece.of_lot("A")).await;
    let answer = suite
        .where_used(&format!("identifier={}&serial=1", handpiece.gtin))
        .await;
    assert_eq!(
        classes(&answer, "items"),
        [
            ("affected".to_owned(), one),
            ("cannot_exclude".to_owned(), three)
        ]
    );
}

#[actix_web::test]
async fn stock_on_hand_is_told_by_place_and_receipts_with_what_is_left_of_them() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let receipt = suite.receive(&cannula.of_lot("A"), 3).await;
    let line =
        json!({"text": cannula.of_lot("A").text(), "quantity": 2, "location_id": suite.room});
    suite
        .materials
        .post("/v1/receipts", &json!({"lines": [line]}))
        .await
        .expect(201);
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let answer = suite
        .where_used(&format!("identifier={}&lot=A", cannula.gtin))
        .await;
    let mut on_hand: Vec<(String, i64)> = answer["on_hand"]
        .as_array()
        .expect("stock")
        .iter()
        .map(|stock| {
            (
                text(stock, "location"),
                stock["quantity"].as_i64().expect("a quantity"),
            )
        })
        .collect();
    on_hand.sort();
    // The scan drew from the room of the case.
    assert_eq!(
        on_hand,
        [
            ("Procedure room 2".to_owned(), 1),
            ("Shelf 3".to_owned(), 3)
        ]
    );
    let receipts = answer["receipts"].as_array().expect("receipts");
    assert_eq!(receipts.len(), 2);
    assert!(receipts.iter().any(|one| one["receipt_id"] == receipt["id"]
        && one["quantity"] == 3
        && one["open"] == true));
}

#[actix_web::test]
async fn every_identifier_of_a_product_and_a_scanned_label_ask_for_the_same() {
    let suite = Suite::start().await;
    let (unit, boxed) = (
        crate::harness::labels::fresh_gtin(),
        crate::harness::labels::fresh_gtin(),
    );
    let identifiers = json!([
        {"agency": "gs1", "code": unit, "level": "unit", "quantity": 1},
        {"agency": "gs1", "code": boxed, "level": "package", "quantity": 10},
        {"agency": "hibcc", "code": "A99912345", "level": "package", "quantity": 1},
    ]);
    suite.product(json!({"identifiers": identifiers})).await;
    let case = suite.case().await;
    suite
        .scan(&case, &Label::of(&unit).expiry("281231").lot("A"))
        .await;
    let label = format!("%5Dd201{boxed}1728123110A");
    let asked = [
        format!("identifier={unit}&lot=A"),
        format!("identifier={boxed}&lot=A"),
        format!("identifier=gs1:{unit}&lot=A"),
        "identifier=%2BA999123457&lot=A".to_owned(),
        "identifier=hibcc:A99912345&lot=A".to_owned(),
        format!("identifier={label}"),
    ];
    for query in asked {
        let answer = suite.where_used(&query).await;
        assert_eq!(answer["counts"]["affected"], 1, "{query}: {answer}");
        assert_eq!(answer["items"][0]["case_id"], json!(case));
    }
}

#[actix_web::test]
async fn stopped_and_struck_scans_are_told_apart_from_uses() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("A", "1");
    let (first, second) = (suite.case().await, suite.case().await);
    let scan = suite.scan(&first, &piece).await;
    suite.scan(&second, &piece).await;
    let query = format!("identifier={}&lot=A", handpiece.gtin);
    let answer = suite.where_used(&query).await;
    assert_eq!(answer["counts"]["affected"], 1);
    assert_eq!(answer["stopped"][0]["case_id"], json!(second));
    assert!(
        answer["stopped"][0]["findings"]
            .to_string()
            .contains("already_used")
    );
    suite.strike(&first, &text(&scan, "id")).await;
    let answer = suite.where_used(&query).await;
    assert_eq!(
        (&answer["counts"]["affected"], &answer["counts"]["struck"]),
        (&json!(0), &json!(1))
    );
}

#[actix_web::test]
async fn each_answer_is_an_entry_without_identity() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite
        .case_of("MRN-004217", "Delacroix-Owusu, Marguerite")
        .await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let facility = suite.service.site.facility;
    let before = suite.service.entries(facility).await.len();
    let answer = suite
        .where_used(&format!("identifier={}&lot=A", cannula.gtin))
        .await;
    let entries = suite.service.entries(facility).await;
    assert_eq!(entries.len(), before + 1);
    let (hash, body) = entries.last().expect("an entry");
    assert_eq!(answer["entry"]["position"], before);
    assert_eq!(answer["entry"]["hash"], json!(hash));
    assert!(body.starts_with(r#"{"action":"show_where_used""#), "{body}");
    assert!(!body.contains("Delacroix") && !body.contains("MRN-004217"));
}

#[actix_web::test]
async fn an_unknown_identifier_reached_nobody_and_a_malformed_one_is_refused() {
    let suite = Suite::start().await;
    let answer = suite
        .where_used(&format!(
            "identifier={}&lot=A",
            crate::harness::labels::gtin(999_999_999)
        ))
        .await;
    assert_eq!(answer["items"], json!([]));
    assert!(answer.get("product").is_none());
    for query in [
        "",
        "lot=A",
        "identifier=",
        "identifier=%00",
        "identifier=no%20code&lot=A",
    ] {
        let reply = suite
            .compliance
            .get(&format!("/v1/where-used?{query}"))
            .await;
        reply.problem(400, "invalid");
    }
}
