//! Equipment: the register, what is due at a setup, filters, and the cases it was on.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::record::{equipment, set_up};
use crate::harness::suite::judged;
use serde_json::{Value, json};

async fn service(suite: &Suite, piece: &str, body: Value) -> Value {
    let path = format!("/v1/equipment/{piece}/services");
    suite.materials.post(&path, &body).await.expect(201)
}

fn calibration(done_on: &str, due_on: &str, as_found: &str) -> Value {
    json!({
        "kind": "calibration", "done_on": done_on, "due_on": due_on, "as_found": as_found,
        "done_by": "Brindlemoor service", "certificate": "C-26-0117",
    })
}

async fn run(suite: &Suite, piece: &str, case: &str, minutes: &str) {
    let path = format!("/v1/equipment/{piece}/runs");
    let body = json!({"case_id": case, "minutes": minutes});
    suite.circulator.post(&path, &body).await.expect(201);
}

async fn stop_what_is_due(suite: &Suite) {
    let policy = suite.compliance.get("/v1/policy").await.expect(200);
    let mut settings = policy["settings"].clone();
    settings["due_equipment_stops"] = json!(true);
    let body = json!({"settings": settings, "reason": "The board decided so."});
    let changed = suite
        .compliance
        .put("/v1/policy", version(&policy), &body)
        .await;
    changed.expect(200);
}

#[actix_web::test]
async fn equipment_is_set_up_by_its_asset_number_its_label_or_by_choosing() {
    let suite = Suite::start().await;
    let label = "0109520123456788\u{1d}2100417";
    let body = json!({
        "asset_number": "EQ-0042", "kind": "generator", "name": "Generator 2", "serial": "00417",
        "label": label, "location_id": suite.room,
    });
    let added = suite
        .materials
        .post("/v1/equipment", &body)
        .await
        .expect(201);
    assert_eq!(added["described"], "Generator 2 (EQ-0042, SN 00417)");
    assert_eq!(added["location_name"], "Procedure room 2");
    for (named, scanned) in [
        (json!({"code": "EQ-0042"}), true),
        (json!({"code": label}), true),
        (json!({"equipment_id": added["id"]}), false),
    ] {
        let case = suite.case().await;
        let path = format!("/v1/cases/{case}/equipment");
        let used = suite.circulator.post(&path, &named).await.expect(201);
        judged(&used, "taken", &[]);
        assert_eq!(
            (&used["scanned"], &used["on_case"]),
            (&json!(scanned), &json!(true))
        );
        // The same piece once.
        suite
            .circulator
            .post(&path, &named)
            .await
            .problem(409, "already-done");
        let listed = suite.circulator.get(&path).await.expect(200);
        assert_eq!(listed["items"].as_array().map(Vec::len), Some(1));
    }
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/equipment");
    let unknown = suite
        .circulator
        .post(&path, &json!({"code": "EQ-0043"}))
        .await;
    let problem = unknown.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/equipment_id");
    for (body, slug) in [
        (body, "taken"),
        (
            json!({"asset_number": "EQ-0043", "kind": "other", "name": "X", "label": label}),
            "taken",
        ),
    ] {
        suite
            .materials
            .post("/v1/equipment", &body)
            .await
            .problem(409, slug);
    }
}

// Good through the day of the certificate: common practice, no source. The clock stands at
// 2026-03-10.
#[actix_web::test]
async fn what_is_due_is_shown_at_the_setup_and_stops_where_the_site_decides_so() {
    let suite = Suite::start().await;
    let thermometer = equipment(&suite, "thermometer").await;
    let case = suite.case().await;
    judged(
        &set_up(&suite, &case, &thermometer).await,
        "look",
        &["calibration_due"],
    );
    service(
        &suite,
        &thermometer,
        calibration("2025-03-10", "2026-03-10", "in_tolerance"),
    )
    .await;
    let maintained = json!({"kind": "maintenance", "done_on": "2025-03-09", "due_on": "2026-03-09", "done_by": "M. Okafor"});
    service(&suite, &thermometer, maintained).await;
    let case = suite.case().await;
    let used = set_up(&suite, &case, &thermometer).await;
    judged(&used, "look", &["maintenance_due"]);
    let source = text(&used["findings"][0], "source");
    assert!(source.contains("due_equipment_stops"), "{source}");
    stop_what_is_due(&suite).await;
    let case = suite.case().await;
    let stopped = set_up(&suite, &case, &thermometer).await;
    judged(&stopped, "stop", &["maintenance_due"]);
    assert_eq!(stopped["on_case"], false);
    // What was stopped may be set up once it is in order.
    let maintained = json!({"kind": "maintenance", "done_on": "2026-03-10", "due_on": "2027-03-10", "done_by": "M. Okafor"});
    service(&suite, &thermometer, maintained).await;
    judged(&set_up(&suite, &case, &thermometer).await, "taken", &[]);
}

// Counter test of the trade: life 8 h, used 7.6 h, a case of 0.5 h warns before the case.
#[actix_web::test]
async fn a_filter_counts_hours_or_cases_since_it_was_put_in() {
    let suite = Suite::start().await;
    let evacuator = equipment(&suite, "smoke_evacuator").await;
    let case = suite.case().await;
    judged(
        &set_up(&suite, &case, &evacuator).await,
        "look",
        &["filter_spent"],
    );
    let path = format!("/v1/equipment/{evacuator}");
    let filters = format!("{path}/filters");
    let filter = json!({"filter": "UF-1", "life_hours": "8", "case_hours": "0.5"});
    suite.circulator.post(&filters, &filter).await.expect(201);
    let minute = jiff::SignedDuration::from_mins(1);
    suite.service.site.clock.advance(minute);
    run(&suite, &evacuator, &case, "456").await;
    let shown = suite.circulator.get(&path).await.expect(200);
    assert_eq!(shown["filter"]["hours_used"], "7.60");
    let next = suite.case().await;
    let used = set_up(&suite, &next, &evacuator).await;
    judged(&used, "look", &["filter_spent"]);
    let sentence = text(&used["findings"][0], "sentence");
    assert!(sentence.contains("7.6 of its 8 h"), "{sentence}");
    let by_cases = json!({"filter": "UF-2", "life_cases": 1});
    suite.circulator.post(&filters, &by_cases).await.expect(201);
    suite.service.site.clock.advance(minute);
    for findings in [&[][..], &["filter_spent"]] {
        let verdict = if findings.is_empty() { "taken" } else { "look" };
        let case = suite.case().await;
        judged(&set_up(&suite, &case, &evacuator).await, verdict, findings);
    }
    let both = json!({"filter": "UF-3", "life_cases": 1, "life_hours": "8"});
    let problem = suite
        .circulator
        .post(&filters, &both)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/life_hours");
    // Only what is on a case runs there.
    let runs = format!("{path}/runs");
    let body = json!({"case_id": suite.case().await, "minutes": "1"});
    suite
        .circulator
        .post(&runs, &body)
        .await
        .problem(409, "differs");
}

#[actix_web::test]
async fn what_a_person_took_out_of_service_stops_until_a_person_returns_it() {
    let suite = Suite::start().await;
    let generator = equipment(&suite, "generator").await;
    let path = format!("/v1/equipment/{generator}");
    let reason = json!({"reason": "Arcs at the cable"});
    let out = suite
        .circulator
        .post(&format!("{path}/out-of-service"), &reason)
        .await;
    let out = out.expect(200);
    let again = suite
        .circulator
        .post(&format!("{path}/out-of-service"), &reason)
        .await;
    again.problem(409, "already-done");
    let case = suite.case().await;
    judged(
        &set_up(&suite, &case, &generator).await,
        "stop",
        &["out_of_service"],
    );
    let back = format!("{path}/return");
    let repaired = json!({"reason": "Cable replaced"});
    suite
        .circulator
        .change(&back, version(&out), &repaired)
        .await
        .problem(403, "forbidden");
    suite
        .materials
        .change(&back, version(&out) - 1, &repaired)
        .await
        .problem(412, "stale");
    suite
        .materials
        .change(&back, version(&out), &repaired)
        .await
        .expect(200);
    judged(&set_up(&suite, &case, &generator).await, "taken", &[]);
}

#[actix_web::test]
async fn a_calibration_out_of_tolerance_takes_it_out_of_service_and_its_cases_are_named() {
    let mut suite = Suite::start().await;
    let thermometer = equipment(&suite, "thermometer").await;
    service(
        &suite,
        &thermometer,
        calibration("2026-03-09", "2027-03-09", "in_tolerance"),
    )
    .await;
    let (first, struck, last) = (suite.case().await, suite.case().await, suite.case().await);
    set_up(&suite, &first, &thermometer).await;
    set_up(&suite, &struck, &thermometer).await;
    let back = json!({"case_id": struck, "reason": "The other one is in the room"});
    let path = format!("/v1/equipment/{thermometer}");
    let taken_back = suite
        .circulator
        .post(&format!("{path}/strike"), &back)
        .await;
    assert_eq!(taken_back.expect(201)["on_case"], false);
    suite.a_day_later().await;
    set_up(&suite, &last, &thermometer).await;
    let found = service(
        &suite,
        &thermometer,
        calibration("2026-03-11", "2027-03-11", "out_of_tolerance"),
    )
    .await;
    assert_eq!(found["findings"][0]["slug"], "out_of_service");
    let cases = format!("{path}/cases");
    let answer = suite.compliance.get(&cases).await.expect(200);
    let named = |answer: &Value| {
        let cases = answer["cases"].as_array().expect("cases").clone();
        cases
            .iter()
            .map(|one| text(one, "case_id"))
            .collect::<Vec<_>>()
    };
    assert_eq!(named(&answer), [first, last.clone()]);
    assert_eq!(answer["cases"][0]["patient"]["name"], "Example, Robin");
    let since = suite
        .compliance
        .get(&format!("{cases}?since=2026-03-11"))
        .await
        .expect(200);
    assert_eq!(named(&since), [last]);
    let entries = suite.service.entries(suite.service.site.facility).await;
    let entry = &entries.last().expect("an entry").1;
    assert!(
        entry.contains("show_equipment_cases") && !entry.contains("Robin"),
        "{entry}"
    );
    suite.circulator.get(&cases).await.problem(403, "forbidden");
}

#[actix_web::test]
async fn the_register_says_what_does_not_fit() {
    let suite = Suite::start().await;
    let wrong = [
        (
            json!({"asset_number": "E1", "kind": "thermometer", "name": "T"}),
            "/thermometer_type",
        ),
        (
            json!({"asset_number": "E1", "kind": "generator", "name": "G", "thermometer_type": "contact"}),
            "/thermometer_type",
        ),
        (
            json!({"asset_number": "E1", "kind": "generator", "name": "G", "location_id": suite.case().await}),
            "/location_id",
        ),
    ];
    for (body, pointer) in wrong {
        let problem = suite
            .materials
            .post("/v1/equipment", &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let generator = equipment(&suite, "generator").await;
    let path = format!("/v1/equipment/{generator}");
    let early = json!({"kind": "maintenance", "done_on": "2026-03-11", "due_on": "2027-03-11", "done_by": "M. Okafor"});
    let problem = suite
        .materials
        .post(&format!("{path}/services"), &early)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/done_on");
    let moved = json!({"name": "Generator, spare", "location_id": suite.shelf});
    let changed = suite.materials.put(&path, 1, &moved).await.expect(200);
    assert_eq!(
        (&changed["name"], &changed["location_name"]),
        (&json!("Generator, spare"), &json!("Shelf 3"))
    );
    suite
        .materials
        .put(&path, 1, &moved)
        .await
        .problem(412, "stale");
}
