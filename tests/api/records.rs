//! The rest of a case's record: lists, reconciliation, checks, follow-ups, events.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::people::PASSWORD;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

async fn completed(suite: &Suite) -> String {
    let case = suite.case().await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    case
}

#[actix_web::test]
async fn the_newest_list_of_the_practitioner_says_what_is_missing_and_short() {
    let suite = Suite::start().await;
    let (pad, other, filter) = (
        suite.cannula().await,
        suite.cannula().await,
        suite.handpiece().await,
    );
    suite.receive(&pad.of_lot("A"), 1).await;
    suite.receive(&other.of_lot("A"), 3).await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/missing");
    let without = suite.circulator.get(&path).await.expect(200);
    assert_eq!(
        (&without["list_id"], &without["items"]),
        (&Value::Null, &json!([]))
    );
    let list = |open: u32, practitioner: Option<String>| {
        let mut body = json!({
            "procedure": "Vein ablation, left leg",
            "items": [
                {"product_id": pad.id, "open": open, "hold": 2, "alternative_ids": [other.id]},
                {"product_id": filter.id, "open": 1, "hold": 0},
            ],
        });
        if let Some(person) = practitioner {
            body["practitioner_id"] = json!(person);
        }
        body
    };
    let own = Some(suite.practitioner.person.to_string());
    for body in [list(1, own.clone()), list(3, own), list(9, None)] {
        suite.materials.post("/v1/lists", &body).await.expect(201);
    }
    suite.scan(&case, &pad.of_lot("A")).await;
    let shown = suite.circulator.get(&path).await.expect(200);
    // Opens 3: one is on the case, two are missing and two are held, of which three are in stock.
    let item = &shown["items"][0];
    let of = |member: &str| item[member].as_i64();
    assert_eq!(
        [of("open"), of("on_case"), of("missing")],
        [Some(3), Some(1), Some(2)]
    );
    assert_eq!([of("in_stock"), of("short")], [Some(3), Some(1)]);
    assert_eq!(shown["items"][1]["missing"], 1);
    let unknown = json!({"procedure": "X", "items": [{"product_id": case, "open": 1, "hold": 0}]});
    let problem = suite
        .materials
        .post("/v1/lists", &unknown)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/items/0/product_id");
}

// Picked 6 = used 3 + wasted 1 + returned 2; with one returned less, one is unaccounted.
#[actix_web::test]
async fn a_case_is_reconciled_lot_by_lot_and_a_difference_is_named() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 6).await;
    let case = suite.case().await;
    let first = suite.scan(&case, &cannula.of_lot("A")).await;
    let lot = text(&first, "lot_id");
    let picks = format!("/v1/cases/{case}/picks");
    let pick = |kind: &str, quantity: i32| json!({"kind": kind, "lines": [{"lot_id": lot, "quantity": quantity}]});
    suite
        .circulator
        .post(&picks, &pick("picked", 6))
        .await
        .expect(201);
    let mut last = first;
    for _ in 0..3 {
        let body = json!({"text": cannula.of_lot("A").text(), "another_piece": true});
        last = suite.scan_body(&case, &body).await;
    }
    suite.dispose(&case, &last, "wasted").await;
    suite
        .circulator
        .post(&picks, &pick("returned", 1))
        .await
        .expect(201);
    let path = format!("/v1/cases/{case}/reconciliation");
    let short = suite.circulator.get(&path).await.expect(200);
    assert_eq!(
        (&short["agrees"], &short["lots"][0]["difference"]),
        (&json!(false), &json!(1))
    );
    suite
        .circulator
        .post(&picks, &pick("returned", 1))
        .await
        .expect(201);
    let whole = suite.circulator.get(&path).await.expect(200);
    let lot = &whole["lots"][0];
    let of = |member: &str| lot[member].as_i64();
    assert_eq!(whole["agrees"], true);
    assert_eq!(
        [of("picked"), of("used"), of("wasted"), of("returned")],
        [Some(6), Some(3), Some(1), Some(2)]
    );
    let wrong = json!({"kind": "picked", "lines": [{"lot_id": case, "quantity": 1}]});
    let problem = suite
        .circulator
        .post(&picks, &wrong)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/lines/0/lot_id");
}

#[actix_web::test]
async fn a_check_is_two_peoples_and_a_count_that_differs_is_named() {
    let suite = Suite::start().await;
    let case = suite.case().await;
    let path = format!("/v1/cases/{case}/checks");
    let count = |kind: &str, needles: &str| json!({"kind": kind, "lines": [{"item": "needles", "answer": needles}, {"item": "sponges", "answer": "10"}]});
    for (kind, needles) in [("initial_count", "12"), ("closing_count", "11")] {
        let check = suite
            .circulator
            .post(&path, &count(kind, needles))
            .await
            .expect(201);
        let confirm = format!("{path}/{}/confirm", text(&check, "id"));
        suite
            .circulator
            .post(&confirm, &json!({}))
            .await
            .problem(403, "forbidden");
        let unconfirmed = suite.circulator.get(&path).await.expect(200);
        assert_eq!(unconfirmed["differences"], json!([]));
        let second = suite
            .practitioner
            .post(&confirm, &json!({}))
            .await
            .expect(200);
        let person = suite.practitioner.person.to_string();
        assert_eq!(second["confirmed"]["person_id"], person);
        assert_ne!(second["confirmed"]["name"], "");
        suite
            .practitioner
            .post(&confirm, &json!({}))
            .await
            .problem(409, "already-done");
    }
    let shown = suite.circulator.get(&path).await.expect(200);
    let expected = json!([{"item": "needles", "initial": "12", "closing": "11"}]);
    assert_eq!(shown["differences"], expected);
    let elsewhere = suite.case().await;
    let id = text(&shown["items"][0], "id");
    let confirm = format!("/v1/cases/{elsewhere}/checks/{id}/confirm");
    suite
        .practitioner
        .post(&confirm, &json!({}))
        .await
        .problem(404, "no-such-thing");
}

/// The follow-ups of the first case that has any.
async fn first_due(suite: &Suite, query: &str) -> Option<Value> {
    let path = format!("/v1/follow-ups?{query}");
    let page = suite.circulator.get(&path).await.expect(200);
    let items = page["items"].as_array().cloned().expect("items");
    let first = items.into_iter().next();
    first.map(|own| own["follow_ups"].clone())
}

// The next day and six weeks: the site's own list. Completed on 10 March 2026; six weeks on is
// 21 April 2026.
#[actix_web::test]
async fn follow_ups_are_due_by_the_sites_list_and_overdue_until_done() {
    let mut suite = Suite::start().await;
    for (name, days) in [("Next-day call", 1), ("Six-week visit", 42)] {
        let rule = json!({"name": name, "days": days, "source": "Site policy 31"});
        suite
            .compliance
            .post("/v1/follow-up-rules", &rule)
            .await
            .expect(201);
        suite
            .compliance
            .post("/v1/follow-up-rules", &rule)
            .await
            .problem(409, "taken");
    }
    let case = completed(&suite).await;
    suite.case().await;
    let due = first_due(&suite, "").await.expect("a case");
    assert_eq!(
        [&due[0]["due_on"], &due[1]["due_on"]],
        ["2026-03-11", "2026-04-21"]
    );
    assert_eq!(first_due(&suite, "overdue=true").await, None);
    suite.a_day_later().await;
    assert_eq!(first_due(&suite, "overdue=true").await, None);
    suite.a_day_later().await;
    let late = first_due(&suite, "overdue=true").await.expect("a case");
    assert_eq!(
        (&late[0]["name"], late.as_array().map(Vec::len)),
        (&json!("Next-day call"), Some(1))
    );
    let shown = suite.show(&case).await;
    let sign = json!({"meaning": "Record reviewed", "password": PASSWORD});
    let path = format!("/v1/cases/{case}/sign");
    suite
        .practitioner
        .change(&path, version(&shown), &sign)
        .await
        .expect(201);
    let path = format!("/v1/cases/{case}/follow-ups");
    let done = |name: &str, day: &str| json!({"name": name, "done_on": day, "outcome": "Reached"});
    for (body, pointer) in [
        (done("Next-day call", "2026-03-09"), "/done_on"),
        (done("Next-day call", "2026-03-13"), "/done_on"),
        (done("Next-week call", "2026-03-12"), "/name"),
    ] {
        let problem = suite
            .circulator
            .post(&path, &body)
            .await
            .problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], pointer);
    }
    let body = done("Next-day call", "2026-03-12");
    suite.circulator.post(&path, &body).await.expect(201);
    suite
        .circulator
        .post(&path, &body)
        .await
        .problem(409, "already-done");
    assert_eq!(first_due(&suite, "overdue=true").await, None);
    // What was signed is as it was signed.
    assert_eq!(suite.show(&case).await["signatures"][0]["unchanged"], true);
}

// 21 CFR 803.30(a): ten work days; Monday 2026-03-02 to Monday 2026-03-16. A death goes to FDA and
// the manufacturer where it is known; a physician's office has no duty (21 USC 360i(b)(6)).
#[actix_web::test]
async fn an_event_is_due_in_work_days_by_what_the_facility_was_decided_to_be() {
    let suite = Suite::start().await;
    let case = completed(&suite).await;
    let path = format!("/v1/cases/{case}/events");
    let event = |kind: &str| {
        json!({
            "event": kind, "happened_on": "2026-03-01", "aware_on": "2026-03-02",
            "manufacturer": "Invented Instruments", "deliberation": "Needs surgical intervention",
        })
    };
    let open = async |body: Value| suite.practitioner.post(&path, &body).await;
    let undecided = open(event("death")).await.expect(201);
    assert_eq!(
        (&undecided["report"], &undecided["due_on"]),
        (&json!("cannot_be_computed"), &Value::Null)
    );
    let decide = async |status: &str| {
        let body = json!({"status": status, "reason": "Separately licensed suite"});
        suite
            .compliance
            .post("/v1/facility-status", &body)
            .await
            .expect(201)
    };
    decide("user_facility").await;
    let death = open(event("death")).await.expect(201);
    assert_eq!(
        (&death["due_on"], &death["recipients"]),
        (&json!("2026-03-16"), &json!(["fda", "manufacturer"]))
    );
    let injury = open(event("serious_injury")).await.expect(201);
    assert_eq!(injury["recipients"], json!(["manufacturer"]));
    let malfunction = open(event("malfunction")).await.expect(201);
    assert_eq!(
        (&malfunction["report"], &malfunction["due_on"]),
        (&json!("voluntary"), &Value::Null)
    );
    decide("physician_office").await;
    assert_eq!(
        open(event("death")).await.expect(201)["report"],
        "voluntary"
    );
    let mut wrong = event("death");
    wrong["aware_on"] = json!("2026-02-28");
    let problem = open(wrong).await.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/aware_on");
    let mut future = event("death");
    future["aware_on"] = json!("2026-03-11");
    let problem = open(future).await.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/aware_on");
    let inspector = suite.service.role(Role::Inspector).await;
    let files = inspector.get("/v1/events").await.expect(200);
    assert_eq!(files["items"].as_array().map(Vec::len), Some(5));
}

#[actix_web::test]
async fn a_signed_case_takes_no_further_record() {
    let suite = Suite::start().await;
    let case = completed(&suite).await;
    let shown = suite.show(&case).await;
    let sign = json!({"meaning": "Record reviewed", "password": PASSWORD});
    let path = format!("/v1/cases/{case}/sign");
    suite
        .practitioner
        .change(&path, version(&shown), &sign)
        .await
        .expect(201);
    let check = json!({"kind": "sign_out", "lines": [{"item": "Counts right", "answer": "yes"}]});
    let path = format!("/v1/cases/{case}/checks");
    suite
        .circulator
        .post(&path, &check)
        .await
        .problem(409, "case-signed");
}

// Before there was a register of equipment the team typed generator and instrument.
