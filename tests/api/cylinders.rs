//! Gas cylinders: what is left, what a scan says of it, and the gas on cases.

use crate::harness::client::text;
use crate::harness::record::{cylinder_body as body, filled, received, reusable};
use crate::harness::suite::{judged, on_case};
use crate::harness::{Client, Suite};
use serde_json::{Value, json};

async fn gauge(caller: &Client, cylinder: &str, psi: &str) -> Value {
    let body = json!({"gauge_psi": psi, "celsius": "21.1", "litre_per_minute": "2"});
    let path = format!("/v1/cylinders/{cylinder}/gauge");
    caller.post(&path, &body).await.expect(201)
}

fn number(value: &Value) -> f64 {
    let text = value.as_str().unwrap_or_else(|| panic!("no text: {value}"));
    text.parse().expect("a number")
}

// 500 psi, 4.7 L water, 21.1 C, gauge 2 % of 3,000 psi: 157.21 L (138.6 to 175.7), 78.6 min at
// 2 L/min; computed with CoolProp 8.0.0.
#[actix_web::test]
async fn a_gauge_reading_gives_litres_and_minutes_with_a_band() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    let read = gauge(&suite.circulator, &cylinder.id, "500").await;
    let left = &read["left"];
    for (member, expected) in [
        ("litre", 157.21),
        ("litre_low", 138.6),
        ("litre_high", 175.7),
    ] {
        let found = number(&left[member]);
        assert!((found - expected).abs() < 0.11, "{member}: {found}");
    }
    assert!((number(&left["minutes"]["minutes"]) - 78.6).abs() < 0.11);
    assert_eq!(read["state"], "full");
    // 49 CFR 173.302a(b), from memory: 2,015 psi with a plus are 2,216.5 psi.
    assert_eq!(read["filling_limit_psi"], "2216.5");
    // 49 CFR 180.209(a): five years, through the last day of the month.
    assert_eq!(read["retest_due_on"], "2029-05-31");
    assert_eq!(read["findings"], json!([]));
    let caution = "For information only; the licensed practitioner decides.";
    assert_eq!(read["caution"], caution);
}

#[actix_web::test]
async fn what_is_left_is_not_computed_without_a_reading_or_for_another_gas() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({"gas": "other"})).await;
    let path = format!("/v1/cylinders/{}", cylinder.id);
    let unread = suite.circulator.get(&path).await.expect(200);
    assert_eq!(
        (&unread["left"], &unread["state"]),
        (&Value::Null, &Value::Null)
    );
    let read = gauge(&suite.circulator, &cylinder.id, "500").await;
    assert_eq!(read["left"], Value::Null);
    assert_eq!(read["findings"][0]["slug"], "cylinder_low");
    let sentence = text(&read["findings"][0], "sentence");
    assert!(sentence.contains("cannot be computed"), "{sentence}");
}

// 12 minutes at 1.5 L/min are 18.0 L: multiplication.
#[actix_web::test]
async fn gas_is_summed_by_flow_and_time_against_the_cylinder_and_each_case() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    gauge(&suite.circulator, &cylinder.id, "500").await;
    let path = format!("/v1/cylinders/{}/uses", cylinder.id);
    let flow = |case: &str, minutes: &str| json!({"case_id": case, "zone": "Calf, left", "litre_per_minute": "1.5", "minutes": minutes});
    let (first, second) = (suite.case().await, suite.case().await);
    let refused = suite.circulator.post(&path, &flow(&first, "12")).await;
    refused.problem(409, "differs");
    suite
        .service
        .site
        .clock
        .advance(jiff::SignedDuration::from_mins(1));
    for case in [&first, &second] {
        assert!(on_case(&suite.scan(case, &cylinder.label).await));
    }
    let used = suite.circulator.post(&path, &flow(&first, "8")).await;
    assert_eq!(number(&used.expect(201)["litre"]), 12.0);
    suite
        .circulator
        .post(&path, &flow(&first, "4"))
        .await
        .expect(201);
    suite
        .circulator
        .post(&path, &flow(&second, "2"))
        .await
        .expect(201);
    let shown = suite
        .circulator
        .get(&format!("/v1/cylinders/{}", cylinder.id))
        .await
        .expect(200);
    assert_eq!(number(&shown["used_litre"]), 21.0);
    assert_eq!(number(&shown["by_case"][0]["litre"]), 18.0);
    assert_eq!(shown["by_case"][1]["case_id"], *second);
    assert_eq!(shown["state"], "in_use");
    // 157.21 L less 21.0 L.
    assert!((number(&shown["left"]["litre"]) - 136.2).abs() < 0.11);
    let empty = gauge(&suite.circulator, &cylinder.id, "0").await;
    assert_eq!(empty["state"], "empty");
}

#[actix_web::test]
async fn a_scan_on_a_case_says_what_the_cylinder_lacks_and_names_the_source() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    // No reading yet.
    let scan = suite.scan(&suite.case().await, &cylinder.label).await;
    judged(&scan, "look", &["cylinder_low"]);
    // 138.6 L at least are left at 500 psi, more than the 138 expected; 133 L at least at 483 psi.
    gauge(&suite.circulator, &cylinder.id, "501").await;
    let scan = suite.scan(&suite.case().await, &cylinder.label).await;
    judged(&scan, "taken", &[]);
    gauge(&suite.circulator, &cylinder.id, "480").await;
    let scan = suite.scan(&suite.case().await, &cylinder.label).await;
    judged(&scan, "look", &["cylinder_low"]);
    let sources = text(&scan["findings"][0], "source");
    assert!(sources.contains("virial"), "{sources}");
}

#[actix_web::test]
async fn a_mark_that_ran_out_and_a_label_not_read_back_are_shown_at_the_scan() {
    let suite = Suite::start().await;
    let more =
        json!({"retest_month": "2021-01-01", "name_read_back": "Argon", "filled_on": "2025-12-01"});
    let cylinder = filled(&suite, more).await;
    gauge(&suite.circulator, &cylinder.id, "2000").await;
    let scan = suite.scan(&suite.case().await, &cylinder.label).await;
    judged(&scan, "look", &["label_not_read_back", "retest_due"]);
    assert!(on_case(&scan));
}

#[actix_web::test]
async fn a_cylinder_is_a_reusable_gas_and_its_fill_is_on_record_once() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let receipt = suite.receive(&cannula.of_lot("A"), 1).await;
    let lot = text(&receipt["lines"][0], "lot_id");
    let mut wrong = body(&lot, &lot);
    let refused = suite.materials.post("/v1/cylinders", &wrong).await;
    assert_eq!(
        refused.problem(400, "invalid")["errors"][0]["pointer"],
        "/lot_id"
    );
    let gas = reusable(&suite, "Helium, compressed", "gas").await;
    let (lot, unit) = received(&suite, &gas.piece("F1", "C1")).await;
    for (member, value) in [
        ("water_volume_litre", json!("0")),
        ("gauge_accuracy_percent", json!("25.1")),
        ("reserve_psi", json!("-1")),
        ("retest_month", json!("2026-02-01")),
        ("unit_id", json!(lot)),
    ] {
        wrong = body(&lot, &unit);
        wrong[member] = value;
        let refused = suite.materials.post("/v1/cylinders", &wrong).await;
        let problem = refused.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], format!("/{member}"));
    }
    wrong = body(&lot, &unit);
    wrong["water_volume_litre"] = json!(4.7);
    suite
        .materials
        .post("/v1/cylinders", &wrong)
        .await
        .problem(400, "not-json");
    let right = body(&lot, &unit);
    suite
        .materials
        .post("/v1/cylinders", &right)
        .await
        .expect(201);
    suite
        .materials
        .post("/v1/cylinders", &right)
        .await
        .problem(409, "taken");
}

#[actix_web::test]
async fn a_reading_beyond_the_scale_is_refused_and_nothing_is_kept() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    let path = format!("/v1/cylinders/{}/gauge", cylinder.id);
    let body = json!({"gauge_psi": "3000.5", "celsius": "21.1"});
    let problem = suite
        .circulator
        .post(&path, &body)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/gauge_psi");
    let count = suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM gauge_readings")
        .await;
    assert_eq!(count, ["0"]);
}

#[actix_web::test]
async fn a_cylinder_stays_in_stock_through_every_case() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    gauge(&suite.circulator, &cylinder.id, "2000").await;
    for _ in 0..3 {
        let scan = suite.scan(&suite.case().await, &cylinder.label).await;
        judged(&scan, "taken", &[]);
    }
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("1"));
}

// GS1 General Specifications 3.2 and 3.4 (from memory): (01) GTIN, (17) outdate, (10) lot, (21) serial.
#[actix_web::test]
async fn a_cylinders_label_is_read_back_to_the_cylinder() {
    let suite = Suite::start().await;
    let cylinder = filled(&suite, json!({})).await;
    let path = format!("/v1/cylinders/{}/label", cylinder.id);
    let label = suite.circulator.get(&path).await;
    assert_eq!(label.header("content-type"), Some("image/svg+xml"));
    let svg = label.text();
    let symbol = svg
        .split("(01)")
        .nth(1)
        .and_then(|rest| rest.split('<').next());
    let printed = format!("(01){}", symbol.expect("the text below the symbol"));
    assert!(svg.contains("Filled 2026-01-05"), "{svg}");
    let case = suite.case().await;
    let scan = suite.scan_text(&case, &printed).await;
    let again = suite.scan(&suite.case().await, &cylinder.label).await;
    for member in ["product", "lot", "unit"] {
        assert_eq!(scan[member], again[member], "{printed}");
    }
}
