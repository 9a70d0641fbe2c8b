//! Entries, the head and parcels, over the API.

use crate::harness::Suite;
use crate::harness::client::text;
use serde_json::{Value, json};
use std::collections::BTreeSet;

#[actix_web::test]
async fn every_answer_to_a_write_names_its_entry_and_the_ledger_has_it() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let receipt = suite.receive(&cannula.of_lot("A"), 3).await;
    let case = suite
        .circulator
        .post("/v1/cases", &suite.case_body("MRN-1", "Example, Robin"))
        .await
        .expect(201);
    let id = text(&case, "id");
    let scan = suite.scan(&id, &cannula.of_lot("A")).await;
    let unread = suite.scan_text(&id, "no label at all").await;
    let hold = suite.hold("product", &cannula.id).await;
    let stopped = suite.scan(&id, &cannula.of_lot("B")).await;
    let struck = suite.strike(&id, &text(&scan, "id")).await;
    let started = suite.advance(&id, "start").await;
    let entries = suite.service.entries(suite.service.site.facility).await;
    let answers = [
        (&receipt, "record_receipt"),
        (&case, "open_case"),
        (&scan, "record_scan"),
        (&unread, "record_scan"),
        (&hold, "place_hold"),
        (&stopped, "record_scan"),
        (&struck, "strike_scan"),
        (&started, "start_case"),
    ];
    let mut positions = BTreeSet::new();
    for (answer, action) in answers {
        let position = answer["entry"]["position"]
            .as_u64()
            .unwrap_or_else(|| panic!("no entry in {answer}"));
        let (hash, body) = &entries[position as usize];
        assert_eq!(answer["entry"]["hash"], json!(hash));
        assert!(
            body.starts_with(&format!(r#"{{"action":"{action}""#)),
            "{body}"
        );
        positions.insert(position);
    }
    assert_eq!(positions.len(), answers.len());
}

#[actix_web::test]
async fn entries_are_listed_byte_for_byte_as_they_are_hashed() {
    let suite = Suite::start().await;
    let stored = suite.service.entries(suite.service.site.facility).await;
    let listed = suite.compliance.get("/v1/ledger/entries?limit=200").await;
    let text = listed.text();
    for (hash, body) in &stored {
        assert!(
            text.contains(&format!(r#""body":{body}"#)),
            "{body} is not in the answer byte for byte"
        );
        assert!(text.contains(hash));
    }
    assert_eq!(
        listed.expect(200)["items"].as_array().map(Vec::len),
        Some(stored.len())
    );
}

#[actix_web::test]
async fn entries_are_paged_and_filtered() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    let all = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .len();
    let mut positions = Vec::new();
    let mut path = "/v1/ledger/entries?limit=3".to_owned();
    loop {
        let page = suite.compliance.get(&path).await.expect(200);
        let items = page["items"].as_array().expect("items").iter();
        positions.extend(items.map(|item| item["position"].as_u64().expect("a position")));
        let Some(next) = page["next"].as_str() else {
            break;
        };
        path = format!("/v1/ledger/entries?limit=3&cursor={next}");
    }
    assert_eq!(positions, (0..all as u64).collect::<Vec<_>>());
    let of_case = suite
        .compliance
        .get(&format!("/v1/ledger/entries?case_id={case}"))
        .await
        .expect(200);
    let actions: Vec<&str> = of_case["items"]
        .as_array()
        .expect("items")
        .iter()
        .filter_map(|item| item["body"]["action"].as_str())
        .collect();
    assert_eq!(actions, ["open_case", "record_scan"]);
    let scans = suite
        .compliance
        .get("/v1/ledger/entries?action=record_scan")
        .await
        .expect(200);
    assert_eq!(scans["items"].as_array().map(Vec::len), Some(1));
    let actor = format!("/v1/ledger/entries?actor=person:{}", suite.materials.person);
    let by = suite.compliance.get(&actor).await.expect(200);
    assert!(
        by["items"]
            .as_array()
            .is_some_and(|items| !items.is_empty())
    );
    for wrong in ["limit=0", "limit=201", "cursor=x", "from=yesterday"] {
        suite
            .compliance
            .get(&format!("/v1/ledger/entries?{wrong}"))
            .await
            .problem(400, "invalid");
    }
}

#[actix_web::test]
async fn the_head_is_the_last_entry_and_everybody_may_keep_it() {
    let suite = Suite::start().await;
    let head = suite.circulator.get("/v1/ledger/head").await.expect(200);
    let entries = suite.service.entries(suite.service.site.facility).await;
    assert_eq!(head["size"], entries.len());
    assert_eq!(head["hash"], json!(entries.last().expect("an entry").0));
    assert_eq!(head["ledger_id"], json!(suite.service.site.facility));
}

#[actix_web::test]
async fn an_empty_ledger_has_the_published_genesis_as_its_head() {
    let suite = Suite::start().await;
    let elsewhere = suite.service.site.add_facility("South Hill").await;
    let query =
        format!("SELECT encode(hash, 'hex') FROM ledger_heads WHERE facility_id = '{elsewhere}'");
    let head = suite.service.site.database.column(&query).await;
    // `printf 'lotwarden ledger format 1 genesis' | sha256sum`, computed by another program.
    let output = std::process::Command::new("sh")
        .args([
            "-c",
            "printf 'lotwarden ledger format 1 genesis' | sha256sum",
        ])
        .output();
    let output = String::from_utf8(output.expect("sha256sum").stdout).expect("text");
    assert_eq!(head[0], output.split_whitespace().next().expect("a digest"));
}

#[actix_web::test]
async fn an_entry_has_exactly_the_published_members() {
    let suite = Suite::start().await;
    let entries = suite.service.entries(suite.service.site.facility).await;
    for (_, body) in entries {
        let entry: Value = serde_json::from_str(&body).expect("JSON");
        let mut members: Vec<&str> = entry
            .as_object()
            .expect("an object")
            .keys()
            .map(String::as_str)
            .collect();
        members.retain(|member| *member != "station");
        assert_eq!(
            members,
            [
                "action", "actor", "at", "data", "ledger", "position", "previous", "subject", "v"
            ]
        );
    }
}

#[actix_web::test]
async fn a_clock_that_stepped_back_stops_the_ledger_until_it_is_right_again() {
    let suite = Suite::start().await;
    let clock = &suite.service.site.clock;
    let now = clock.reading();
    clock.set(now - jiff::SignedDuration::from_secs(60));
    let administrator = &suite.materials;
    let body = json!({"name": "Shelf 4", "kind": "shelf"});
    let refused = administrator.post("/v1/locations", &body).await;
    refused.problem(503, "unavailable");
    clock.set(now + jiff::SignedDuration::from_secs(1));
    administrator.post("/v1/locations", &body).await.expect(201);
}
