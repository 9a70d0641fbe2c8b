//! Mixes: the order before the making, two people, exact amounts, and what stops them.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::people::PASSWORD;
use crate::harness::record::{ingredient, order, order_body};
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

/// The bag of four products that the worked example mixes: 250 mL saline, 25 mL lidocaine 1 %,
/// 0.25 mL epinephrine 1 mg/mL, 2.5 mL bicarbonate 1 mEq/mL.
async fn bag_a(suite: &Suite, case: &str) -> Value {
    let lidocaine = json!([{"substance": "Lidocaine", "percent": "1"}]);
    let epinephrine = json!([{"substance": "epinephrine", "ratio": "1:1,000"}]);
    let bicarbonate = json!([{"substance": "bicarbonate", "meq_per_ml": "1"}]);
    json!([
        ingredient(suite, case, "diluent", "250", json!([])).await,
        ingredient(suite, case, "drug", "25", lidocaine).await,
        ingredient(suite, case, "drug", "0.25", epinephrine).await,
        ingredient(suite, case, "drug", "2.5", bicarbonate).await,
    ])
}

fn now(suite: &Suite) -> String {
    suite.service.site.clock.reading().to_string()
}

async fn make(suite: &Suite, mix: &Value, ingredients: Value) -> Value {
    let path = format!("/v1/mixes/{}/make", text(mix, "id"));
    let body = json!({"started_at": now(suite), "ingredients": ingredients});
    suite
        .circulator
        .change(&path, version(mix), &body)
        .await
        .expect(201)
}

async fn check(suite: &Suite, mix: &Value) -> Value {
    let path = format!("/v1/mixes/{}/check", text(mix, "id"));
    let checked = suite
        .practitioner
        .change(&path, version(mix), &json!({}))
        .await;
    checked.expect(201)
}

async fn give(suite: &Suite, mix: &Value, zone: &str, volume: &str) -> Value {
    let path = format!("/v1/mixes/{}/doses", text(mix, "id"));
    let body = json!({"zone": zone, "volume_ml": volume});
    suite.circulator.post(&path, &body).await.expect(201)
}

/// Bag A, made and checked, on a case.
async fn checked_bag(suite: &Suite) -> (String, Value) {
    let case = suite.case().await;
    let mix = order(suite, &case).await;
    let ingredients = bag_a(suite, &case).await;
    let made = make(suite, &mix, ingredients).await;
    assert_eq!(made["verdict"], "taken", "{made}");
    let checked = check(suite, &made["mix"]).await;
    (case, checked["mix"].clone())
}

fn number(value: &Value) -> f64 {
    let text = value.as_str().unwrap_or_else(|| panic!("no text: {value}"));
    text.parse().expect("a number")
}

fn near(value: &Value, expected: f64) {
    let found = number(value);
    assert!(
        (found - expected).abs() < 0.0006,
        "{found} is not {expected}"
    );
}

// Arithmetic of the worked example: 277.75 mL; lidocaine 250 mg, 900.09 mg/L; epinephrine 0.25 mg;
// bicarbonate 9.00 mEq/L (2.5 mEq in 277.75 mL). Four products: USP <797> section 1.3, from memory.
#[actix_web::test]
async fn concentrations_are_over_the_whole_volume() {
    let suite = Suite::start().await;
    let (_, mix) = checked_bag(&suite).await;
    let mixture = &mix["mixture"];
    assert_eq!(mixture["volume_ml"], "277.75");
    let of = |name: &str| {
        let all = mixture["substances"].as_array().expect("substances").iter();
        let mut found = all.filter(|each| each["substance"] == name);
        found.next().unwrap_or_else(|| panic!("no {name}")).clone()
    };
    assert_eq!(of("lidocaine")["mg"], "250");
    assert!((number(&of("lidocaine")["mg_per_litre"]) - 900.09).abs() < 0.001);
    assert_eq!(of("epinephrine")["mg"], "0.25");
    assert!((number(&of("bicarbonate")["meq_per_litre"]) - 9.00).abs() < 0.01);
    let sentence = text(&mix["sterile_products"], "sentence");
    assert!(sentence.starts_with("4 of 3 - outside"), "{sentence}");
}

// 180 mL of bag A hold 162.016 mg, with 5 mL of lidocaine 1 % (50 mg) 212.016 mg; at 60 kg 3.534
// mg/kg; 55 mg/kg at 60 kg are 3,300 mg: multiplication and division.
#[actix_web::test]
async fn amounts_are_summed_over_the_mixes_of_a_case_and_shown_beside_the_weight() {
    let suite = Suite::start().await;
    let (case, bag) = checked_bag(&suite).await;
    give(&suite, &bag, "Calf, left", "100").await;
    give(&suite, &bag, "Calf, right", "80").await;
    let syringe = order(&suite, &case).await;
    let lidocaine = json!([{"substance": "lidocaine", "percent": "1"}]);
    let only = json!([ingredient(&suite, &case, "drug", "5", lidocaine).await]);
    let made = make(&suite, &syringe, only).await;
    let checked = check(&suite, &made["mix"]).await;
    give(&suite, &checked["mix"], "Ankle", "5").await;
    let shown = suite
        .practitioner
        .get(&format!("/v1/cases/{case}/amounts"))
        .await
        .expect(200);
    let substances = shown["substances"].as_array().expect("substances");
    let lidocaine = &substances[2];
    assert_eq!(lidocaine["substance"], "lidocaine");
    near(&lidocaine["mg"], 212.016);
    near(&lidocaine["mg_per_kg"], 3.534);
    let references = lidocaine["references"].as_array().expect("references");
    assert_eq!(references.len(), 6);
    assert_eq!(references[5]["mg_at_weight"], "3300");
    assert_eq!(shown["weight"]["kilogram"], "60");
    assert_eq!(
        shown["caution"],
        "For information only; the licensed practitioner decides."
    );
}

#[actix_web::test]
async fn without_an_order_or_a_strength_nothing_is_taken_for_zero() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/amounts");
    let empty = suite.practitioner.get(&path).await.expect(200);
    assert_eq!(
        (&empty["weight"], &empty["substances"]),
        (&Value::Null, &json!([]))
    );
    let mix = order(&suite, &case).await;
    let unknown = json!([ingredient(&suite, &case, "drug", "5", json!([])).await]);
    let made = make(&suite, &mix, unknown).await;
    let checked = check(&suite, &made["mix"]).await;
    give(&suite, &checked["mix"], "Ankle", "5").await;
    let shown = suite.practitioner.get(&path).await.expect(200);
    assert_eq!(shown["without_strength"], 1);
}

// USP <797> section 1.3, from memory: four hours from the start of preparation.
#[actix_web::test]
async fn a_mix_past_its_use_by_is_stopped_with_the_sites_source_and_not_given() {
    let mut suite = Suite::start().await;
    let (_, mix) = checked_bag(&suite).await;
    suite
        .service
        .site
        .clock
        .advance(jiff::SignedDuration::from_mins(239));
    // An access token lasts ten minutes.
    suite.circulator = suite.service.role(Role::Circulator).await;
    assert_eq!(give(&suite, &mix, "Ankle", "10").await["verdict"], "taken");
    suite
        .service
        .site
        .clock
        .advance(jiff::SignedDuration::from_mins(2));
    let stopped = give(&suite, &mix, "Ankle", "20").await;
    assert_eq!(stopped["verdict"], "stop");
    assert_eq!(stopped["findings"][0]["slug"], "mix_past_use_by");
    let sentence = text(&stopped["findings"][0], "sentence");
    assert!(sentence.contains("Site policy 12"), "{sentence}");
    let doses = &stopped["mix"]["doses"];
    assert_eq!(
        (&doses[0]["verdict"], &doses[1]["verdict"]),
        (&json!("taken"), &json!("stop"))
    );
    assert_eq!(stopped["mix"]["balance"]["given_ml"], "10");
}

#[actix_web::test]
async fn the_earliest_last_day_of_an_ingredient_ends_a_mix_before_the_sites_time() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let body = order_body(10_080);
    let mix = suite
        .practitioner
        .post(&format!("/v1/cases/{case}/mixes"), &body)
        .await;
    let mut vial = ingredient(&suite, &case, "drug", "5", json!([])).await;
    // Punctured on 10 February with 28 days: last day 10 March (2026 is no leap year).
    vial["punctured_on"] = json!("2026-02-10");
    let made = make(&suite, &mix.expect(201), json!([vial])).await;
    assert_eq!(made["mix"]["ingredients"][0]["last_day"], "2026-03-10");
    assert_eq!(made["mix"]["use_by"], "2026-03-11T00:00:00.000000Z");
}

#[actix_web::test]
async fn a_hold_on_an_ingredient_stops_the_making_and_the_giving() {
    let suite = Suite::start().await;
    let (case, mix) = checked_bag(&suite).await;
    let lot = text(&mix["ingredients"][1], "lot_id");
    suite.hold("lot", &lot).await;
    let stopped = give(&suite, &mix, "Ankle", "10").await;
    assert_eq!(stopped["findings"][0]["slug"], "on_hold");
    assert_eq!(stopped["mix"]["balance"]["given_ml"], "0");
    let second = order(&suite, &case).await;
    let scan = &mix["ingredients"][1]["scan_id"];
    let held = json!([{"scan_id": scan, "volume_ml": "5"}]);
    let refused = make(&suite, &second, held).await;
    assert_eq!(
        (&refused["verdict"], &refused["mix"]["status"]),
        (&json!("stop"), &json!("ordered"))
    );
}

#[actix_web::test]
async fn a_notice_that_names_an_ingredient_stops_the_giving() {
    let suite = Suite::start().await;
    let (_, mix) = checked_bag(&suite).await;
    let part = &mix["ingredients"][1];
    let path = format!("/v1/products/{}", text(part, "product_id"));
    let product = suite.circulator.get(&path).await.expect(200);
    let product = crate::harness::suite::Product {
        id: text(part, "product_id"),
        gtin: text(&product["identifiers"][0], "code"),
    };
    super::notices::recall(&suite, "FSN-7", &product, &["D1"]).await;
    let stopped = give(&suite, &mix, "Ankle", "10").await;
    let said = crate::harness::suite::findings(&stopped);
    assert!(said.contains(&"recalled"), "{stopped}");
    assert_eq!(stopped["mix"]["balance"]["given_ml"], "0");
}

#[actix_web::test]
async fn no_mix_without_a_signed_order_and_no_dose_without_a_second_person() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/mixes");
    let body = order_body(240);
    suite
        .circulator
        .post(&path, &body)
        .await
        .problem(403, "forbidden");
    let mut wrong = body.clone();
    wrong["password"] = json!("another one entirely");
    suite
        .practitioner
        .post(&path, &wrong)
        .await
        .problem(401, "wrong-credentials");
    let mix = order(&suite, &case).await;
    let doses = format!("/v1/mixes/{}/doses", text(&mix, "id"));
    let dose = json!({"zone": "Ankle", "volume_ml": "5"});
    suite
        .circulator
        .post(&doses, &dose)
        .await
        .problem(409, "out-of-order");
    let made = make(&suite, &mix, bag_a(&suite, &case).await).await;
    let check = format!("/v1/mixes/{}/check", text(&mix, "id"));
    let same = suite
        .circulator
        .change(&check, version(&made["mix"]), &json!({}))
        .await;
    same.problem(403, "forbidden");
    suite
        .circulator
        .post(&doses, &dose)
        .await
        .problem(409, "out-of-order");
    let another = suite.service.role(Role::Circulator).await;
    another
        .change(&check, version(&made["mix"]), &json!({}))
        .await
        .expect(201);
    suite.circulator.post(&doses, &dose).await.expect(201);
}

#[actix_web::test]
async fn an_ingredient_is_a_scan_that_stands_on_the_case() {
    let suite = Suite::start().await;
    let (case, elsewhere) = (suite.case().await, suite.case().await);
    let mix = order(&suite, &case).await;
    let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
    let other = ingredient(&suite, &elsewhere, "drug", "5", json!([])).await;
    let struck = ingredient(&suite, &case, "drug", "5", json!([])).await;
    suite.strike(&case, &text(&struck, "scan_id")).await;
    for wrong in [other, struck] {
        let body = json!({"started_at": now(&suite), "ingredients": [wrong]});
        let problem = suite
            .circulator
            .change(&path, version(&mix), &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/ingredients/0/scan_id");
    }
    let good = ingredient(&suite, &case, "drug", "5", json!([])).await;
    for (pointer, member, value) in [
        ("/ingredients/0/volume_ml", "volume_ml", json!("0")),
        (
            "/ingredients/0/strengths/0",
            "strengths",
            json!([{"substance": "x", "percent": "1", "ratio": "1:10"}]),
        ),
        (
            "/ingredients/0/strengths/0",
            "strengths",
            json!([{"substance": "x", "ratio": "1000:1"}]),
        ),
    ] {
        let mut wrong = good.clone();
        wrong[member] = value;
        let body = json!({"started_at": now(&suite), "ingredients": [wrong]});
        let problem = suite
            .circulator
            .change(&path, version(&mix), &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
}

// 277.75 = 180 + 97.75: the identity of volumes, within 5 mL (our own rule).
#[actix_web::test]
async fn a_mix_closes_when_its_volumes_add_up_or_somebody_explains() {
    let suite = Suite::start().await;
    let (_, mix) = checked_bag(&suite).await;
    let given = give(&suite, &mix, "Ankle", "180").await;
    let doses = format!("/v1/mixes/{}/doses", text(&mix, "id"));
    let too_much = json!({"zone": "Ankle", "volume_ml": "103"});
    let problem = suite
        .circulator
        .post(&doses, &too_much)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/volume_ml");
    let path = format!("/v1/mixes/{}/close", text(&mix, "id"));
    let at = version(&given["mix"]);
    let short = json!({"discarded_ml": "90", "left_ml": "0"});
    let problem = suite
        .circulator
        .change(&path, at, &short)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/explanation");
    let detail = text(&problem["errors"][0], "detail");
    assert!(detail.contains("7.75"), "{detail}");
    let whole = json!({"discarded_ml": "97.75", "left_ml": "0"});
    let closed = suite.circulator.change(&path, at, &whole).await.expect(200);
    assert_eq!(closed["status"], "closed");
    assert_eq!(closed["balance"]["difference_ml"], "0");
    let dose = json!({"zone": "Ankle", "volume_ml": "1"});
    suite
        .circulator
        .post(&doses, &dose)
        .await
        .problem(409, "already-done");
}

#[actix_web::test]
async fn an_ingredient_lot_is_found_by_where_used() {
    let suite = Suite::start().await;
    let (case, mix) = checked_bag(&suite).await;
    let product = text(&mix["ingredients"][1], "product_id");
    let code = suite
        .circulator
        .get(&format!("/v1/products/{product}"))
        .await
        .expect(200);
    let gtin = text(&code["identifiers"][0], "code");
    let used = suite.where_used(&format!("identifier={gtin}&lot=D1")).await;
    assert_eq!(used["items"][0]["case_id"], *case);
}

#[actix_web::test]
async fn the_label_says_what_is_in_it_who_made_it_and_until_when() {
    let suite = Suite::start().await;
    let (_, mix) = checked_bag(&suite).await;
    let path = format!("/v1/mixes/{}/label", text(&mix, "id"));
    let label = suite.circulator.get(&path).await;
    assert_eq!(label.status, 200, "{}", label.text());
    assert_eq!(label.header("content-type"), Some("image/svg+xml"));
    let svg = label.text();
    for said in [
        "Use by 2026-03-10 18:00",
        "Prepared 2026-03-10 14:00 by Tp",
        "25 mL",
        "lot D1",
    ] {
        assert!(svg.contains(said), "{said} is not on the label: {svg}");
    }
}

#[actix_web::test]
async fn a_weight_is_in_no_entry_row_or_answer_but_the_one_that_shows_it() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let mut body = order_body(240);
    body["weight_kg"] = json!("61.937");
    let ordered = suite
        .practitioner
        .post(&format!("/v1/cases/{case}/mixes"), &body)
        .await;
    ordered.expect(201);
    assert!(!ordered.text().contains("61.937"));
    for (_, entry) in suite.service.entries(suite.service.site.facility).await {
        assert!(!entry.contains("61.937"), "{entry}");
    }
    let rows = suite
        .service
        .site
        .database
        .column("SELECT t::text FROM mixes t UNION ALL SELECT t::text FROM answers t")
        .await;
    assert!(!rows.is_empty());
    for row in rows {
        assert!(
            !row.contains("61.937") && !row.contains(&hex("61.937")),
            "a row holds the weight"
        );
    }
}

fn hex(text: &str) -> String {
    text.bytes().map(|byte| format!("{byte:02x}")).collect()
}

#[actix_web::test]
async fn a_signed_case_takes_no_further_mix() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    order(&suite, &case).await;
    let shown = suite.show(&case).await;
    let sign = json!({"meaning": "Record reviewed", "password": PASSWORD});
    let signed = suite
        .practitioner
        .change(&format!("/v1/cases/{case}/sign"), version(&shown), &sign)
        .await;
    signed.expect(201);
    let again = suite
        .practitioner
        .post(&format!("/v1/cases/{case}/mixes"), &order_body(240))
        .await;
    again.problem(409, "case-signed");
}
