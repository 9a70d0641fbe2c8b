//! Sterile processing: release, cycles, and what a positive biological indicator reaches.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::labels::Label;
use crate::harness::record::{indicator, load_body, received, reusable, sterilizer};
use crate::harness::suite::{Product, judged, on_case};
use serde_json::{Value, json};

/// A reusable cannula that the site sterilizes, one piece of it on the shelf.
struct Piece {
    product: Product,
    label: Label,
    unit: String,
}

async fn cannula(suite: &Suite, serial: &str, limit: Option<u32>) -> Piece {
    let product = reusable(suite, "Reusable cannula set", "cannula").await;
    let label = product.piece("R1", serial);
    let (_, unit) = received(suite, &label).await;
    let path = format!("/v1/products/{}/processing", product.id);
    let mut body = json!({"source": "Maker's instructions, revision 4"});
    if let Some(limit) = limit {
        body["cycle_limit"] = json!(limit);
    }
    suite.materials.post(&path, &body).await.expect(200);
    Piece {
        product,
        label,
        unit,
    }
}

/// Runs a load of these pieces; it is not released.
async fn run(suite: &Suite, sterilizer: &str, cycle: &str, units: &[&str]) -> Value {
    let body = load_body(suite, sterilizer, cycle, units);
    suite.materials.post("/v1/loads", &body).await.expect(201)
}

async fn release(suite: &Suite, load: &Value) -> Value {
    for kind in ["mechanical", "chemical"] {
        indicator(suite, load, kind, "good").await;
    }
    let path = format!("/v1/loads/{}", text(load, "id"));
    let shown = suite.materials.get(&path).await.expect(200);
    let path = format!("{path}/release");
    let released = suite
        .materials
        .change(&path, version(&shown), &json!({}))
        .await;
    released.expect(200)
}

/// Runs and releases a load of these pieces.
async fn released(suite: &Suite, sterilizer: &str, cycle: &str, units: &[&str]) -> Value {
    let load = run(suite, sterilizer, cycle, units).await;
    release(suite, &load).await
}

#[actix_web::test]
async fn a_piece_needs_a_released_load_since_its_last_use() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    let scan = suite.scan(&suite.case().await, &piece.label).await;
    judged(&scan, "stop", &["load_not_released"]);
    let load = run(&suite, &autoclave, "L1", &[&piece.unit]).await;
    let scan = suite.scan(&suite.case().await, &piece.label).await;
    judged(&scan, "stop", &["load_not_released"]);
    release(&suite, &load).await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &piece.label).await;
    judged(&scan, "taken", &[]);
    assert!(on_case(&scan));
    // The same piece again on the same case is the same piece; on another it was used since.
    let again = suite.scan(&case, &piece.label).await;
    judged(&again, "look", &["same_scan_again"]);
    let other = suite.case().await;
    let scan = suite.scan(&other, &piece.label).await;
    judged(&scan, "stop", &["load_not_released"]);
    released(&suite, &autoclave, "L2", &[&piece.unit]).await;
    judged(&suite.scan(&other, &piece.label).await, "taken", &[]);
}

#[actix_web::test]
async fn a_struck_use_is_no_use() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    released(&suite, &autoclave, "L1", &[&piece.unit]).await;
    let (first, second) = (suite.case().await, suite.case().await);
    let scan = suite.scan(&first, &piece.label).await;
    suite.strike(&first, &text(&scan, "id")).await;
    judged(&suite.scan(&second, &piece.label).await, "taken", &[]);
}

// A limit of two cycles: the third is one too many (common practice, no source).
#[actix_web::test]
async fn a_piece_past_its_makers_limit_of_cycles_is_stopped() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", Some(2)).await;
    for cycle in ["L1", "L2"] {
        released(&suite, &autoclave, cycle, &[&piece.unit]).await;
        let scan = suite.scan(&suite.case().await, &piece.label).await;
        judged(&scan, "taken", &[]);
    }
    let third = released(&suite, &autoclave, "L3", &[&piece.unit]).await;
    assert_eq!(third["packs"][0]["units"][0]["cycle"], 3);
    let scan = suite.scan(&suite.case().await, &piece.label).await;
    judged(&scan, "stop", &["cycles_exhausted"]);
}

// ANSI/AAMI ST79, from memory: a load with an implant waits for its biological indicator.
#[actix_web::test]
async fn a_load_is_released_by_its_indicators_and_one_with_an_implant_waits_for_the_biological() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    let mut body = load_body(&suite, &autoclave, "L1", &[&piece.unit]);
    body["packs"][0]["implant"] = json!(true);
    let load = suite.materials.post("/v1/loads", &body).await.expect(201);
    let path = format!("/v1/loads/{}/release", text(&load, "id"));
    let refused = suite
        .materials
        .change(&path, version(&load), &json!({}))
        .await;
    refused.problem(409, "out-of-order");
    indicator(&suite, &load, "mechanical", "good").await;
    let read = indicator(&suite, &load, "chemical", "good").await;
    let refused = suite
        .materials
        .change(&path, version(&read["load"]), &json!({}))
        .await;
    let problem = refused.problem(409, "out-of-order");
    assert!(text(&problem, "detail").contains("implant"));
    let read = indicator(&suite, &load, "biological", "negative").await;
    let released = suite
        .materials
        .change(&path, version(&read["load"]), &json!({}))
        .await;
    assert_eq!(released.expect(200)["status"], "released");
}

#[actix_web::test]
async fn an_indicator_that_is_not_good_holds_its_load() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    let load = run(&suite, &autoclave, "L1", &[&piece.unit]).await;
    let read = indicator(&suite, &load, "chemical", "not_good").await;
    assert_eq!(read["load"]["status"], "held");
    let scan = suite.scan(&suite.case().await, &piece.label).await;
    judged(&scan, "stop", &["load_failed"]);
}

// CDC Guideline 2008 (updated 2019), positive spore tests: L101 negative, L102, L103, L104
// positive, L105 without, L106 negative on one sterilizer; suspect are L102 to L105.
#[actix_web::test]
async fn a_positive_indicator_holds_the_loads_back_to_the_last_negative_and_names_the_cases() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let elsewhere = sterilizer(&suite, "recall_suspect").await;
    let mut pieces = Vec::new();
    for serial in ["S101", "S102", "S103", "S104", "S105", "S106", "S201"] {
        pieces.push(cannula(&suite, serial, None).await);
    }
    let mut loads = Vec::new();
    let cycles = ["L101", "L102", "L103", "L104", "L105", "L106"];
    for (cycle, piece) in cycles.iter().zip(&pieces) {
        loads.push(released(&suite, &autoclave, cycle, &[&piece.unit]).await);
    }
    released(&suite, &elsewhere, "L201", &[&pieces[6].unit]).await;
    indicator(&suite, &loads[0], "biological", "negative").await;
    indicator(&suite, &loads[5], "biological", "negative").await;
    let mut cases = Vec::new();
    for piece in &pieces[..5] {
        let case = suite.case().await;
        judged(&suite.scan(&case, &piece.label).await, "taken", &[]);
        cases.push(case);
    }
    // L103's piece went through L106 since; its earlier case stays reached by L103.
    let positive = indicator(&suite, &loads[3], "biological", "positive").await;
    let members = |list: &Value, member: &str| -> Vec<String> {
        let all = list.as_array().expect("a list").iter();
        all.map(|each| text(each, member)).collect()
    };
    assert_eq!(
        members(&positive["suspects"], "cycle"),
        ["L102", "L103", "L104", "L105"]
    );
    assert_eq!(members(&positive["reached"], "case_id"), cases[1..5]);
    assert_eq!(positive["follows"], "recall");
    assert_eq!(positive["load"]["status"], "held");
    // The pieces of the others go on; those of the suspects are stopped until processed again.
    for (piece, verdict) in [(&pieces[5], "taken"), (&pieces[6], "taken")] {
        assert_eq!(
            suite.scan(&suite.case().await, &piece.label).await["verdict"],
            verdict
        );
    }
    let fresh = suite.case().await;
    judged(
        &suite.scan(&fresh, &pieces[4].label).await,
        "stop",
        &["load_failed"],
    );
    released(&suite, &elsewhere, "L202", &[&pieces[4].unit]).await;
    judged(&suite.scan(&fresh, &pieces[4].label).await, "taken", &[]);
    // What is held by a recall is not lifted by a person.
    let held = &positive["suspects"][0];
    let path = format!("/v1/loads/{}/clear", text(held, "id"));
    let body = json!({"reason": "Looks fine to me"});
    let refused = suite.compliance.change(&path, version(held), &body).await;
    refused.problem(409, "out-of-order");
    let used = suite
        .where_used(&format!("identifier={}", pieces[1].product.gtin))
        .await;
    assert_eq!(used["items"][0]["case_id"], *cases[1]);
}

// The same procedure: a single positive with good other indicators and a negative repeat need not
// recall; the sterilizer returns after three empty cycles with a negative indicator.
#[actix_web::test]
async fn a_single_positive_is_decided_by_a_person_only_where_the_site_chose_so() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "decide_single_positive").await;
    let piece = cannula(&suite, "S1", None).await;
    let load = released(&suite, &autoclave, "L1", &[&piece.unit]).await;
    let early = json!({"kind": "biological", "result": "negative", "repeat": true});
    let path = format!("/v1/loads/{}", text(&load, "id"));
    let indicators = format!("{path}/indicators");
    let refused = suite.materials.post(&indicators, &early).await;
    refused.problem(409, "out-of-order");
    let positive = indicator(&suite, &load, "biological", "positive").await;
    assert_eq!(positive["follows"], "recall");
    let body = load_body(&suite, &autoclave, "L2", &[&piece.unit]);
    suite
        .materials
        .post("/v1/loads", &body)
        .await
        .problem(409, "out-of-order");
    let repeat = suite.materials.post(&indicators, &early).await.expect(201);
    assert_eq!(repeat["follows"], "decide");
    judged(
        &suite.scan(&suite.case().await, &piece.label).await,
        "stop",
        &["load_failed"],
    );
    let clear = json!({"reason": "Single positive, repeat negative, print reviewed"});
    let at = version(&repeat["load"]);
    let cleared = suite
        .compliance
        .change(&format!("{path}/clear"), at, &clear)
        .await;
    assert_eq!(cleared.expect(200)["status"], "released");
    judged(
        &suite.scan(&suite.case().await, &piece.label).await,
        "taken",
        &[],
    );
    let back = format!("/v1/sterilizers/{autoclave}/return");
    let refused = suite.materials.change(&back, 2, &json!({})).await;
    refused.problem(409, "out-of-order");
    for cycle in ["E1", "E2", "E3"] {
        let empty = run(&suite, &autoclave, cycle, &[]).await;
        indicator(&suite, &empty, "biological", "negative").await;
    }
    let returned = suite
        .materials
        .change(&back, 2, &json!({}))
        .await
        .expect(200);
    assert_eq!(returned["out_of_service_since"], Value::Null);
    released(&suite, &autoclave, "L3", &[&piece.unit]).await;
}

#[actix_web::test]
async fn an_immediate_use_cycle_names_its_patient_and_why() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    let case = suite.case().await;
    let mut body = load_body(&suite, &autoclave, "I1", &[&piece.unit]);
    body["kind"] = json!("immediate_use");
    let problem = suite
        .materials
        .post("/v1/loads", &body)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"].as_array().map(Vec::len), Some(2));
    body["case_id"] = json!(case);
    body["reason"] = json!("The only set was dropped");
    let load = suite.materials.post("/v1/loads", &body).await.expect(201);
    // Without a scan of the piece the case is reached all the same.
    let positive = indicator(&suite, &load, "biological", "positive").await;
    assert_eq!(positive["reached"][0]["case_id"], *case);
}

#[actix_web::test]
async fn a_load_names_its_fields_when_they_do_not_fit() {
    let suite = Suite::start().await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let piece = cannula(&suite, "S1", None).await;
    let single = suite.handpiece().await;
    let (_, single) = received(&suite, &single.piece("A", "1")).await;
    let twice = load_body(&suite, &autoclave, "L1", &[&piece.unit, &piece.unit]);
    let single = load_body(&suite, &autoclave, "L1", &[&single]);
    let mut cold = load_body(&suite, &autoclave, "L1", &[]);
    cold["exposure_celsius"] = json!("19.9");
    let mut future = load_body(&suite, &autoclave, "L1", &[]);
    future["started_at"] = json!("2030-01-01T00:00:00Z");
    for (body, pointer) in [
        (twice, "/packs/0/unit_ids/1"),
        (single, "/packs/0/unit_ids/0"),
        (cold, "/exposure_celsius"),
        (future, "/started_at"),
    ] {
        let problem = suite
            .materials
            .post("/v1/loads", &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let load = run(&suite, &autoclave, "L1", &[&piece.unit]).await;
    let again = load_body(&suite, &autoclave, "L1", &[]);
    suite
        .materials
        .post("/v1/loads", &again)
        .await
        .problem(409, "taken");
    let path = format!("/v1/loads/{}/indicators", text(&load, "id"));
    let wrong = json!({"kind": "biological", "result": "good"});
    let problem = suite
        .materials
        .post(&path, &wrong)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/result");
}
