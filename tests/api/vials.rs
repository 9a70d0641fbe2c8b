//! Multi-dose vials from their first puncture, and drugs as their labels print them.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::record::{order, received};
use crate::harness::suite::{Product, judged};
use serde_json::{Value, json};

/// A drug in vials of several doses, with or without serials.
async fn drug(suite: &Suite, serial: bool) -> Product {
    let carries = json!({"lot": true, "serial": serial, "expiry": true});
    suite
        .product(json!({"kind": "drug", "use_class": "reusable", "carries": carries}))
        .await
}

async fn opened(suite: &Suite, body: &Value) -> Value {
    suite.circulator.post("/v1/vials", body).await.expect(201)
}

async fn describe(suite: &Suite, product: &Product, more: Value) -> Value {
    let mut body = json!({
        "volume_ml": "50", "strengths": [{"substance": "Lidocaine", "percent": "1"}],
        "source": "Label, revision 2025-11",
    });
    for (member, value) in more.as_object().expect("an object") {
        body[member] = value.clone();
    }
    let path = format!("/v1/products/{}/drug", product.id);
    suite.materials.post(&path, &body).await.expect(200)
}

// USP <797> section 15.2, from memory, and CDC's injection-safety questions: punctured on
// 2026-03-02, usable through 2026-03-30; the label or the maker can end it earlier.
#[actix_web::test]
async fn a_vial_has_its_last_day_from_its_first_puncture_the_maker_and_the_label() {
    let suite = Suite::start().await;
    let product = drug(&suite, false).await;
    let receipt = suite.receive(&product.of_lot("A"), 3).await;
    let lot = text(&receipt["lines"][0], "lot_id");
    let vial = |name: &str, day: &str| json!({"lot_id": lot, "name": name, "punctured_on": day});
    let problem = suite
        .circulator
        .post("/v1/vials", &vial("A", "2026-03-02"))
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/volume_ml");
    // 1 % is 10 mg/mL.
    let described = describe(&suite, &product, json!({})).await;
    assert_eq!(
        described["strengths"][0],
        json!({"substance": "lidocaine", "mg_per_ml": "10"})
    );
    let first = opened(&suite, &vial("A", "2026-03-02")).await;
    assert_eq!(
        (&first["last_day"], &first["left_ml"]),
        (&json!("2026-03-30"), &json!("50"))
    );
    describe(&suite, &product, json!({"in_use_days": 7})).await;
    assert_eq!(
        opened(&suite, &vial("B", "2026-03-02")).await["last_day"],
        "2026-03-09"
    );
    let early = crate::harness::labels::Label::of(&product.gtin)
        .expiry("260305")
        .lot("E");
    let receipt = suite.receive(&early, 1).await;
    let body =
        json!({"lot_id": receipt["lines"][0]["lot_id"], "name": "C", "punctured_on": "2026-03-02"});
    assert_eq!(opened(&suite, &body).await["last_day"], "2026-03-05");
    suite
        .circulator
        .post("/v1/vials", &vial("A", "2026-03-03"))
        .await
        .problem(409, "taken");
    for (body, pointer) in [
        (vial("D", "2026-03-11"), "/punctured_on"),
        (
            json!({"lot_id": suite.case().await, "name": "D"}),
            "/lot_id",
        ),
    ] {
        let problem = suite
            .circulator
            .post("/v1/vials", &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let single = suite.product(json!({"kind": "drug"})).await;
    let receipt = suite.receive(&single.of_lot("A"), 1).await;
    let body = json!({"lot_id": receipt["lines"][0]["lot_id"], "name": "A", "volume_ml": "5"});
    suite
        .circulator
        .post("/v1/vials", &body)
        .await
        .problem(400, "invalid");
    let listed = suite
        .compliance
        .get("/v1/vials?open=true")
        .await
        .expect(200);
    let findings = |at: usize| listed["items"][at]["findings"][0]["slug"].clone();
    assert_eq!(
        [findings(0), findings(1)],
        [Value::Null, json!("vial_past_last_day")]
    );
    let path = format!("/v1/vials/{}/discard", text(&first, "id"));
    let reason = json!({"reason": "Past its last day"});
    suite.circulator.post(&path, &reason).await.expect(200);
    suite
        .circulator
        .post(&path, &reason)
        .await
        .problem(409, "already-done");
}

#[actix_web::test]
async fn a_scan_of_a_vial_past_its_last_day_stops_and_one_that_may_be_it_is_looked_at() {
    let suite = Suite::start().await;
    let product = drug(&suite, true).await;
    let label = product.piece("A", "V1");
    let (lot, unit) = received(&suite, &label).await;
    judged(&suite.scan(&suite.case().await, &label).await, "taken", &[]);
    let body = json!({"lot_id": lot, "unit_id": unit, "name": "V1", "punctured_on": "2026-02-01", "volume_ml": "50"});
    opened(&suite, &body).await;
    judged(
        &suite.scan(&suite.case().await, &label).await,
        "stop",
        &["vial_past_last_day"],
    );
    let plain = drug(&suite, false).await;
    let receipt = suite.receive(&plain.of_lot("B"), 2).await;
    let body = json!({"lot_id": receipt["lines"][0]["lot_id"], "name": "A", "punctured_on": "2026-02-01", "volume_ml": "50"});
    let vial = opened(&suite, &body).await;
    let scan = suite.scan(&suite.case().await, &plain.of_lot("B")).await;
    judged(&scan, "look", &["vial_past_last_day"]);
    assert!(text(&scan["findings"][0], "sentence").contains("Look at the container"));
    let path = format!("/v1/vials/{}/discard", text(&vial, "id"));
    suite
        .circulator
        .post(&path, &json!({"reason": "Past its last day"}))
        .await
        .expect(200);
    judged(
        &suite.scan(&suite.case().await, &plain.of_lot("B")).await,
        "taken",
        &[],
    );
}

#[actix_web::test]
async fn a_mix_draws_from_a_vial_as_much_as_is_left_and_takes_its_last_day() {
    let suite = Suite::start().await;
    let product = drug(&suite, false).await;
    let receipt = suite.receive(&product.of_lot("A"), 1).await;
    let lot = text(&receipt["lines"][0], "lot_id");
    let body = json!({"lot_id": lot, "name": "A", "punctured_on": "2026-02-10", "volume_ml": "50"});
    let vial = text(&opened(&suite, &body).await, "id");
    let make = async |volume: &str, vial: &str| {
        let case = suite.case().await;
        let mix = order(&suite, &case).await;
        let scan = suite.scan(&case, &product.of_lot("A")).await;
        let one = json!({
            "scan_id": scan["id"], "volume_ml": volume, "vial_id": vial,
            "strengths": [{"substance": "lidocaine", "mg_per_ml": "10"}],
        });
        let started_at = suite.service.site.clock.reading().to_string();
        let body = json!({"started_at": started_at, "ingredients": [one]});
        let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
        suite.circulator.change(&path, version(&mix), &body).await
    };
    // 28 days after 2026-02-10 is the day of the mix, through its end.
    let made = make("30", &vial).await.expect(201);
    assert_eq!(made["mix"]["ingredients"][0]["last_day"], "2026-03-10");
    let left = suite.circulator.get("/v1/vials").await.expect(200);
    assert_eq!(left["items"][0]["left_ml"], "20");
    for (volume, id, pointer) in [
        ("20.5", vial.clone(), "/ingredients/0/volume_ml"),
        (
            "5",
            uuid::Uuid::new_v4().to_string(),
            "/ingredients/0/vial_id",
        ),
    ] {
        let problem = make(volume, &id).await.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    make("20", &vial).await.expect(201);
    let left = suite.circulator.get("/v1/vials").await.expect(200);
    assert_eq!(left["items"][0]["left_ml"], "0");
}
