//! Picking lists by place, first expired first out, and whether tomorrow's cases can be set up.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::labels::Label;
use crate::harness::record::{cylinder_body, equipment, received, reusable};
use crate::harness::suite::{Product, add_location};
use serde_json::{Value, json};

async fn receive_at(suite: &Suite, label: &Label, quantity: u32, place: &str) -> String {
    let line = json!({"text": label.text(), "quantity": quantity, "location_id": place});
    let receipt = suite
        .materials
        .post("/v1/receipts", &json!({"lines": [line]}))
        .await;
    text(&receipt.expect(201)["lines"][0], "lot_id")
}

fn lot(product: &Product, number: &str, expiry: &str) -> Label {
    Label::of(&product.gtin).expiry(expiry).lot(number)
}

async fn list(suite: &Suite, items: Value, more: Value) {
    let mut body = json!({"procedure": "Vein ablation, left leg", "items": items});
    for (member, value) in more.as_object().expect("an object") {
        body[member] = value.clone();
    }
    suite.materials.post("/v1/lists", &body).await.expect(201);
}

async fn picking(suite: &Suite, case: &str) -> Value {
    let path = format!("/v1/cases/{case}/picking");
    suite.circulator.get(&path).await.expect(200)
}

/// Place, lot, how many, and whether it stands in, line by line.
fn from(picking: &Value) -> Vec<(String, String, i64, bool)> {
    let rows = picking["from"].as_array().expect("rows").iter();
    rows.map(|row| {
        let quantity = row["quantity"].as_i64().expect("a number");
        (
            text(row, "location_name"),
            text(row, "lot"),
            quantity,
            row["substitute"] == true,
        )
    })
    .collect()
}

fn rows(expected: &[(&str, &str, i64, bool)]) -> Vec<(String, String, i64, bool)> {
    let owned = expected.iter();
    owned
        .map(|(place, lot, quantity, substitute)| {
            (
                (*place).to_owned(),
                (*lot).to_owned(),
                *quantity,
                *substitute,
            )
        })
        .collect()
}

/// The kinds of the reasons of the first case tomorrow.
async fn reasons(suite: &Suite) -> Vec<String> {
    let shown = suite.circulator.get("/v1/readiness").await.expect(200);
    assert_eq!(shown["day"], "2026-03-11");
    let reasons = shown["cases"][0]["reasons"].as_array().expect("reasons");
    assert_eq!(shown["cases"][0]["ready"], json!(reasons.is_empty()));
    reasons.iter().map(|reason| text(reason, "kind")).collect()
}

// First expired, first out: common practice, no source. Cases are planned for 2026-03-11.
#[actix_web::test]
async fn a_picking_list_goes_from_place_to_place_with_the_lots_that_expire_first() {
    let suite = Suite::start().await;
    let attic = add_location(&suite.materials, "Attic", "shelf").await;
    let (pad, other) = (suite.cannula().await, suite.cannula().await);
    receive_at(&suite, &lot(&pad, "LATE", "281231"), 5, &suite.shelf).await;
    receive_at(&suite, &lot(&pad, "SOON", "260311"), 1, &suite.shelf).await;
    receive_at(&suite, &lot(&pad, "PAST", "260310"), 5, &suite.shelf).await;
    let held = receive_at(&suite, &lot(&pad, "HELD", "260401"), 5, &suite.shelf).await;
    suite.hold("lot", &held).await;
    receive_at(&suite, &lot(&other, "OTHER", "281231"), 9, &attic).await;
    let items =
        json!([{"product_id": pad.id, "open": 5, "hold": 2, "alternative_ids": [other.id]}]);
    list(&suite, items, json!({})).await;
    let case = suite.case().await;
    let shown = picking(&suite, &case).await;
    let expected = [
        ("Attic", "OTHER", 1, true),
        ("Shelf 3", "SOON", 1, false),
        ("Shelf 3", "LATE", 5, false),
    ];
    assert_eq!(from(&shown), rows(&expected));
    assert_eq!(shown["lines"][0]["short"], 0);
    // What is taken out for one case is not there for another.
    let late = &shown["from"][2];
    let pick = json!({"kind": "picked", "lines": [{"lot_id": late["lot_id"], "quantity": 5}]});
    let picks = format!("/v1/cases/{case}/picks");
    suite.circulator.post(&picks, &pick).await.expect(201);
    let again = picking(&suite, &case).await;
    assert_eq!(again["lines"][0]["taken"], 5);
    assert_eq!(from(&again), rows(&expected[..2]));
    let second = picking(&suite, &suite.case().await).await;
    assert_eq!(
        from(&second),
        rows(&[("Attic", "OTHER", 6, true), ("Shelf 3", "SOON", 1, false)])
    );
    // A scan of a picked piece draws it from stock and is not taken twice.
    suite.scan(&case, &lot(&pad, "LATE", "281231")).await;
    assert_eq!(picking(&suite, &case).await["lines"][0]["taken"], 5);
}

#[actix_web::test]
async fn a_case_is_ready_when_nothing_is_against_it_and_every_reason_is_named() {
    let suite = Suite::start().await;
    suite.case().await;
    assert_eq!(reasons(&suite).await, ["no_list"]);
    let (pad, other) = (suite.cannula().await, suite.cannula().await);
    let gas = reusable(&suite, "Helium, compressed", "gas").await;
    receive_at(&suite, &lot(&pad, "PAST", "260310"), 2, &suite.shelf).await;
    let items = json!([
        {"product_id": pad.id, "open": 1, "hold": 0, "alternative_ids": [other.id]},
        {"product_id": gas.id, "open": 1, "hold": 0},
    ]);
    let more = json!({"kinds": [{"kind": "garment", "open": 1, "hold": 0}], "equipment": ["generator", "smoke_evacuator"]});
    list(&suite, items, more).await;
    let expected = [
        "short",
        "stock",
        "short",
        "short",
        "gas",
        "equipment",
        "equipment",
    ];
    assert_eq!(reasons(&suite).await, expected);
    // Each says which of its sentences it is and gives the values, and what the rules say of a piece.
    let shown = suite.circulator.get("/v1/readiness").await.expect(200);
    let short = &shown["cases"][0]["reasons"][0];
    assert_eq!(short["variant"], "product");
    assert_eq!(short["data"]["short"], "1");
    let stock = &shown["cases"][0]["reasons"][1];
    let said = (&stock["variant"], &stock["data"]["lot"]);
    assert_eq!(said, (&json!("expired"), &json!("PAST")));
    let (lot_id, unit) = received(&suite, &gas.piece("F1", "C1")).await;
    assert_eq!(
        reasons(&suite).await,
        ["short", "stock", "short", "gas", "equipment", "equipment"]
    );
    let added = suite
        .materials
        .post("/v1/cylinders", &cylinder_body(&lot_id, &unit))
        .await;
    let cylinder = text(&added.expect(201), "id");
    let gauge = json!({"gauge_psi": "2000", "celsius": "21.1"});
    let path = format!("/v1/cylinders/{cylinder}/gauge");
    suite.circulator.post(&path, &gauge).await.expect(201);
    equipment(&suite, "generator").await;
    let evacuator = equipment(&suite, "smoke_evacuator").await;
    let garment = suite.product(json!({"kind": "garment"})).await;
    receive_at(&suite, &lot(&garment, "G", "281231"), 1, &suite.shelf).await;
    receive_at(&suite, &lot(&other, "OTHER", "281231"), 1, &suite.shelf).await;
    assert_eq!(reasons(&suite).await, ["substitute", "equipment"]);
    let filter = json!({"filter": "UF-1", "life_cases": 5});
    let path = format!("/v1/equipment/{evacuator}/filters");
    suite.materials.post(&path, &filter).await.expect(201);
    receive_at(&suite, &lot(&pad, "NEW", "281231"), 1, &suite.shelf).await;
    assert_eq!(reasons(&suite).await, [""; 0]);
    // The second case of the day finds nothing left.
    suite.case().await;
    let shown = suite.circulator.get("/v1/readiness").await.expect(200);
    let ready: Vec<bool> = shown["cases"]
        .as_array()
        .expect("cases")
        .iter()
        .map(|case| case["ready"] == true)
        .collect();
    assert_eq!(ready.iter().filter(|ready| **ready).count(), 1);
    for day in ["2026-03-09", "2026-06-01"] {
        let path = format!("/v1/readiness?day={day}");
        suite.circulator.get(&path).await.problem(400, "invalid");
    }
}

#[actix_web::test]
async fn as_many_fills_have_to_be_in_order_as_the_list_asks_for_also_of_the_kind() {
    let suite = Suite::start().await;
    let gas = reusable(&suite, "Helium, compressed", "gas").await;
    let pad = suite.cannula().await;
    receive_at(&suite, &lot(&pad, "A", "281231"), 9, &suite.shelf).await;
    let items = json!([{"product_id": pad.id, "open": 1, "hold": 0}]);
    let kinds = json!({"kinds": [{"kind": "gas", "open": 1, "hold": 1}]});
    list(&suite, items, kinds).await;
    suite.case().await;
    assert_eq!(reasons(&suite).await, ["short", "gas"]);
    for (serial, expected) in [("C1", &["short", "gas"][..]), ("C2", &[])] {
        let (lot_id, unit) = received(&suite, &gas.piece("F1", serial)).await;
        let fill = cylinder_body(&lot_id, &unit);
        let added = suite.materials.post("/v1/cylinders", &fill).await;
        let cylinder = text(&added.expect(201), "id");
        let gauge = json!({"gauge_psi": "2000", "celsius": "21.1"});
        let path = format!("/v1/cylinders/{cylinder}/gauge");
        suite.circulator.post(&path, &gauge).await.expect(201);
        assert_eq!(reasons(&suite).await, expected, "{serial}");
    }
}

#[actix_web::test]
async fn a_pick_for_a_list_that_somebody_else_took_meanwhile_is_not_recorded() {
    let suite = Suite::start().await;
    let pad = suite.cannula().await;
    receive_at(&suite, &lot(&pad, "A", "281231"), 9, &suite.shelf).await;
    let items = json!([{"product_id": pad.id, "open": 2, "hold": 1}]);
    list(&suite, items, json!({})).await;
    let case = suite.case().await;
    // Two people have the same list before them.
    let shown = picking(&suite, &case).await;
    let version = shown["version"].as_i64().expect("a version");
    let lines = json!([{"lot_id": shown["from"][0]["lot_id"], "quantity": 3}]);
    let body = json!({"kind": "picked", "lines": lines});
    let picks = format!("/v1/cases/{case}/picks");
    let pick = async || suite.circulator.change(&picks, version, &body).await;
    pick().await.expect(201);
    pick().await.problem(412, "stale");
    assert_eq!(picking(&suite, &case).await["lines"][0]["taken"], 3);
    // The newer list counts again, and without a version a pick is one more.
    let again = picking(&suite, &case).await;
    assert_eq!(again["version"].as_i64(), Some(version + 1));
    suite.circulator.post(&picks, &body).await.expect(201);
}

#[actix_web::test]
async fn a_missed_check_stands_against_a_case_until_one_after_it_is_done() {
    let mut suite = Suite::start().await;
    let pad = suite.cannula().await;
    receive_at(&suite, &lot(&pad, "A", "281231"), 9, &suite.shelf).await;
    list(
        &suite,
        json!([{"product_id": pad.id, "open": 1, "hold": 0}]),
        json!({}),
    )
    .await;
    let check = json!({
        "name": "Crash cart", "every": "day", "two_people": false, "source": "Site policy 19",
        "values": [{"name": "Seal intact", "kind": "yes_no"}],
    });
    let added = suite
        .materials
        .post("/v1/routines", &check)
        .await
        .expect(201);
    suite.case().await;
    assert_eq!(reasons(&suite).await, [""; 0]);
    suite.a_day_later().await;
    let today = "/v1/readiness?day=2026-03-11";
    let shown = suite.circulator.get(today).await.expect(200);
    let reason = &shown["cases"][0]["reasons"][0];
    assert_eq!(reason["kind"], "check");
    assert_eq!(
        reason["sentence"],
        "Crash cart: due by 2026-03-11 and not done yet."
    );
    let path = format!("/v1/routines/{}/records", text(&added, "id"));
    let found = |value: &str, action: Option<&str>| json!({"values": [{"name": "Seal intact", "value": value}], "action": action});
    let broken = found("no", Some("Contents counted, new seal 70913"));
    suite.circulator.post(&path, &broken).await.expect(201);
    let shown = suite.circulator.get(today).await.expect(200);
    let sentence = text(&shown["cases"][0]["reasons"][0], "sentence");
    assert!(sentence.contains("out of its limits"), "{sentence}");
}
