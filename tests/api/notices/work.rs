//! The work on a notice, from its tasks to its closing.

use super::{add, body, confirm_as, criterion, matches, recall};
use crate::harness::Suite;
use crate::harness::client::{Client, text, version};
use crate::harness::people::PASSWORD;
use crate::harness::service::Setup;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};

async fn work(suite: &Suite, notice: &Value) -> Value {
    let path = format!("/v1/notices/{}/work", text(notice, "id"));
    suite.compliance.get(&path).await.expect(200)
}

/// Does a step of the work.
async fn step(caller: &Client, notice: &Value, what: &str, body: Value) -> Value {
    let path = format!("/v1/notices/{}/{what}", text(notice, "id"));
    caller.post(&path, &body).await.expect(201)
}

/// Ends every task but the closing.
async fn end_tasks(suite: &Suite, notice: &Value) {
    for task in work(suite, notice).await["tasks"]
        .as_array()
        .expect("tasks")
    {
        if task["kind"] == "closing" || task["state"] != "open" {
            continue;
        }
        let path = format!("/v1/notice-tasks/{}", text(task, "id"));
        let body =
            json!({"due_at": task["due_at"], "state": "done", "owner_id": suite.materials.person});
        let ended = suite.materials.put(&path, version(task), &body).await;
        assert_eq!(ended.expect(200)["state"], "done");
    }
}

async fn version_of(suite: &Suite, notice: &Value) -> i64 {
    let path = format!("/v1/notices/{}", text(notice, "id"));
    version(&suite.compliance.get(&path).await.expect(200))
}

// trade.md 3.4, the house's own targets: class II quarantines within one work day, answers within
// five, closes within 30 days. 10 March 2026 is a Tuesday; the zone is New York (UTC-4 in March).
#[actix_web::test]
async fn a_confirmed_notice_has_its_tasks_with_due_times_by_class_and_an_overdue_list() {
    let suite = Suite::with(Setup {
        zone: "America/New_York",
        ..Setup::default()
    })
    .await;
    let cannula = suite.cannula().await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let shown = work(&suite, &notice).await;
    let tasks = shown["tasks"].as_array().expect("tasks");
    let due = |kind: &str| {
        let task = tasks.iter().find(|task| task["kind"] == kind);
        text(task.expect("a task"), "due_at")
    };
    assert_eq!(tasks.len(), 7);
    assert_eq!(due("quarantine"), "2026-03-12T04:00:00.000000Z");
    assert_eq!(due("answer"), "2026-03-18T04:00:00.000000Z");
    assert_eq!(due("closing"), "2026-04-10T04:00:00.000000Z");
    let overdue = async |caller: &Client| {
        let page = caller.get("/v1/notice-tasks?overdue=true").await;
        page.expect(200)["items"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(overdue(&suite.materials).await, 0);
    let clock = &suite.service.site.clock;
    clock.advance(jiff::SignedDuration::from_hours(40));
    // Tokens of two days ago are over.
    let materials = suite.service.role(Role::Materials).await;
    assert_eq!(overdue(&materials).await, 1);
    let task = &tasks[0];
    let path = format!("/v1/notice-tasks/{}", text(task, "id"));
    let not_needed = json!({"due_at": task["due_at"], "state": "not_needed"});
    let refused = materials.put(&path, 1, &not_needed).await;
    assert_eq!(
        refused.problem(400, "invalid")["errors"][0]["pointer"],
        "/remark"
    );
    let nobody =
        json!({"due_at": task["due_at"], "state": "open", "owner_id": uuid::Uuid::new_v4()});
    let refused = materials.put(&path, 1, &nobody).await;
    assert_eq!(
        refused.problem(400, "invalid")["errors"][0]["pointer"],
        "/owner_id"
    );
    let done = json!({"due_at": task["due_at"], "state": "done"});
    materials.put(&path, 1, &done).await.expect(200);
    assert_eq!(overdue(&materials).await, 0);
    let closing = &tasks[6];
    let path = format!("/v1/notice-tasks/{}", text(closing, "id"));
    let done = json!({"due_at": closing["due_at"], "state": "done"});
    let refused = materials.put(&path, 1, &done).await;
    refused.problem(409, "work-open");
}

// trade.md 3.3: received 24 = quarantined 7 + used 15 + wasted 1 + unaccounted 1; 23 of 24 = 95.83 %.
#[actix_web::test]
async fn the_numbers_of_a_lot_close_or_are_explained_under_signature() {
    let suite = Suite::start().await;
    let manager = &suite.materials;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("L1"), 24).await;
    let case = suite.case().await;
    for number in 0..16 {
        let more = json!({"text": cannula.of_lot("L1").text(), "another_piece": true});
        let scan = suite.scan_body(&case, &more).await;
        if number == 15 {
            suite.dispose(&case, &scan, "wasted").await;
        }
    }
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let lot = work(&suite, &notice).await["lots"][0].clone();
    assert_eq!(
        (&lot["received"], &lot["counted"]),
        (&json!(24), &json!(false))
    );
    // A missing count is not zero.
    assert!(lot.get("unaccounted").is_none() && lot.get("quarantined").is_none());
    let count = json!({"lot_id": lot["lot_id"], "quarantined": 7, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    let lot = work(&suite, &notice).await["lots"][0].clone();
    let numbers = ["quarantined", "used", "wasted", "unaccounted"].map(|name| lot[name].clone());
    assert_eq!(numbers, [7, 15, 1, 1].map(|number| json!(number)));
    assert_eq!(
        (&lot["accounted_percent"], &lot["settled"]),
        (&json!("95.83"), &json!(false))
    );
    let explain = |password: &str| json!({"lot_id": lot["lot_id"], "reason": "One pouch opened for training", "password": password});
    let path = format!("/v1/notices/{}/explanations", text(&notice, "id"));
    let wrong = manager.post(&path, &explain("not the password")).await;
    wrong.problem(401, "wrong-credentials");
    manager.post(&path, &explain(PASSWORD)).await.expect(201);
    assert_eq!(work(&suite, &notice).await["lots"][0]["settled"], true);
    // Another count, another difference: the explanation was of the one before.
    let count = json!({"lot_id": lot["lot_id"], "quarantined": 6, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    assert_eq!(work(&suite, &notice).await["lots"][0]["settled"], false);
    let count = json!({"lot_id": lot["lot_id"], "quarantined": 8, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    assert_eq!(work(&suite, &notice).await["lots"][0]["settled"], true);
    let nothing = manager.post(&path, &explain(PASSWORD)).await;
    nothing.problem(409, "differs");
}

#[actix_web::test]
async fn what_is_sent_back_or_destroyed_leaves_the_stock_and_destruction_has_a_witness() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let lot = suite.receive(&cannula.of_lot("L1"), 10).await["lines"][0]["lot_id"].clone();
    let other = suite.receive(&cannula.of_lot("B1"), 1).await["lines"][0]["lot_id"].clone();
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let count = json!({"lot_id": lot, "quarantined": 10, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    let path = format!("/v1/notices/{}/disposals", text(&notice, "id"));
    let dispose = |lot: &Value, quantity: u32, how: &str, witness: Option<uuid::Uuid>| {
        json!({"lot_id": lot, "location_id": suite.shelf, "quantity": quantity, "how": how,
            "tracking": "TRACK-1", "witness_id": witness})
    };
    let (own, second) = (suite.materials.person, suite.compliance.person);
    for (body, problem) in [
        (dispose(&lot, 11, "sent_back", None), (409, "not-on-shelf")),
        (dispose(&lot, 3, "destroyed", None), (400, "invalid")),
        (dispose(&lot, 3, "destroyed", Some(own)), (400, "invalid")),
        (dispose(&other, 1, "sent_back", None), (400, "invalid")),
    ] {
        let refused = suite.materials.post(&path, &body).await;
        refused.problem(problem.0, problem.1);
    }
    for body in [
        dispose(&lot, 6, "sent_back", None),
        dispose(&lot, 3, "destroyed", Some(second)),
    ] {
        suite.materials.post(&path, &body).await.expect(201);
    }
    let shown = work(&suite, &notice).await["lots"][0].clone();
    let numbers = [
        "on_record",
        "quarantined",
        "returned",
        "destroyed",
        "unaccounted",
    ];
    let numbers = numbers.map(|name| shown[name].clone());
    assert_eq!(numbers, [1, 1, 6, 3, 0].map(|number| json!(number)));
    let path = format!("/v1/lots/{}", lot.as_str().expect("a lot"));
    let lot = suite.materials.get(&path).await.expect(200);
    assert_eq!(
        (&lot["sent_back"], &lot["destroyed"]),
        (&json!(6), &json!(3))
    );
}

#[actix_web::test]
async fn patients_are_decided_on_told_and_checked_by_a_sample_that_anybody_can_draw_again() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    for number in 0..12 {
        let case = suite
            .case_of(&format!("MRN-{number}"), "Example, Robin")
            .await;
        suite.scan(&case, &cannula.of_lot("L1")).await;
    }
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let found = matches(&suite, &notice).await;
    let patients: Vec<String> = found["patients"]
        .as_array()
        .expect("patients")
        .iter()
        .map(|patient| text(patient, "id"))
        .collect();
    assert_eq!(patients.len(), 12);
    let samples = format!("/v1/notices/{}/samples", text(&notice, "id"));
    let early = suite
        .compliance
        .post(&samples, &json!({"level": "A"}))
        .await;
    early.problem(409, "work-open");
    let decide = |patient: &str, decision: &str| json!({"patient_id": patient, "decision": decision, "reason": "Record reviewed"});
    for (at, patient) in patients.iter().enumerate() {
        let decision = if at < 11 { "notify" } else { "not_needed" };
        step(
            &suite.practitioner,
            &notice,
            "reviews",
            decide(patient, decision),
        )
        .await;
    }
    let stranger = decide(&uuid::Uuid::new_v4().to_string(), "notify");
    let path = format!("/v1/notices/{}/reviews", text(&notice, "id"));
    let refused = suite.practitioner.post(&path, &stranger).await;
    assert_eq!(
        refused.problem(400, "invalid")["errors"][0]["pointer"],
        "/patient_id"
    );
    suite
        .materials
        .post(&path, &decide(&patients[0], "notify"))
        .await
        .problem(403, "forbidden");
    for (method, result) in [
        ("telephone", "no_answer"),
        ("letter", "sent"),
        ("telephone", "reached"),
    ] {
        let attempt = json!({"patient_id": patients[0], "method": method, "result": result});
        step(&suite.circulator, &notice, "outreach", attempt).await;
    }
    let shown = work(&suite, &notice).await;
    let first = shown["patients"]
        .as_array()
        .expect("patients")
        .iter()
        .find(|one| one["patient_id"] == patients[0])
        .expect("the patient")
        .clone();
    assert_eq!(
        (&first["attempts"], &first["told"]),
        (&json!(3), &json!(true))
    );
    // 21 CFR 7.42(b)(3)(iii), from memory: level C is 10 %, of 11 rounded up 2.
    let drawn = step(&suite.compliance, &notice, "samples", json!({"level": "C"})).await;
    let said = &drawn["said"];
    assert_eq!(
        (
            &said["population"],
            said["patients"].as_array().map(Vec::len)
        ),
        (&json!(11), Some(2))
    );
    let seed = text(said, "seed");
    let mut again: Vec<(Vec<u8>, &String)> = patients[..11]
        .iter()
        .map(|patient| {
            use sha2::Digest;
            (
                sha2::Sha256::digest(format!("{seed}:{patient}")).to_vec(),
                patient,
            )
        })
        .collect();
    again.sort();
    let again: Vec<&String> = again.iter().take(2).map(|(_, patient)| *patient).collect();
    assert_eq!(said["patients"], json!(again));
    let check = |patient: &String| json!({"patient_id": patient, "effective": true});
    step(&suite.compliance, &notice, "checks", check(again[0])).await;
    let undrawn = patients
        .iter()
        .find(|patient| !again.contains(patient))
        .expect("one");
    let path = format!("/v1/notices/{}/checks", text(&notice, "id"));
    suite
        .compliance
        .post(&path, &check(undrawn))
        .await
        .problem(400, "invalid");
}

#[actix_web::test]
async fn a_notice_is_closed_by_two_persons_when_nothing_else_is_open_and_an_update_reopens_it() {
    let suite = Suite::start().await;
    let (first, second) = (&suite.materials, &suite.compliance);
    let cannula = suite.cannula().await;
    let lot = suite.receive(&cannula.of_lot("L1"), 3).await["lines"][0]["lot_id"].clone();
    let case = suite.case_of("MRN-7781", "Sample, Kim").await;
    suite.scan(&case, &cannula.of_lot("L1")).await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let path = format!("/v1/notices/{}/close", text(&notice, "id"));
    let sign = json!({"meaning": "Work done and record reviewed", "password": PASSWORD});
    let close = async |caller: &Client| {
        let version = version_of(&suite, &notice).await;
        caller.change(&path, version, &sign).await
    };
    close(first).await.problem(409, "work-open");
    end_tasks(&suite, &notice).await;
    close(first).await.problem(409, "work-open");
    let patient = work(&suite, &notice).await["patients"][0]["patient_id"].clone();
    let review =
        json!({"patient_id": patient, "decision": "notify", "reason": "Item used as named"});
    step(&suite.practitioner, &notice, "reviews", review).await;
    close(first).await.problem(409, "work-open");
    let count = json!({"lot_id": lot, "quarantined": 2, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    let answer = json!({"adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail"});
    let answered = step(&suite.materials, &notice, "answers", answer).await;
    let said = &answered["said"];
    assert_eq!(
        (&said["none_on_hand"], &said["stock_checked"]),
        (&json!(false), &json!(true))
    );
    assert_eq!(
        (&said["lots"][0]["quarantined"], &said["lots"][0]["used"]),
        (&json!(2), &json!(1))
    );
    assert!(!answered.to_string().contains("Sample") && !answered.to_string().contains("MRN"));
    let once = close(first).await.expect(201);
    assert_eq!(
        (&once["state"], &once["signatures"]),
        (&json!("open"), &json!(1))
    );
    close(first).await.problem(409, "work-open");
    // What happens between the signatures is not under the first one.
    let count = json!({"lot_id": lot, "quarantined": 2, "left_in_place": 0});
    step(&suite.materials, &notice, "counts", count).await;
    assert_eq!(close(second).await.expect(201)["state"], "open");
    let closed = close(first).await.expect(201);
    assert_eq!(
        (&closed["state"], &closed["signatures"]),
        (&json!("closed"), &json!(2))
    );
    let names: Vec<_> = work(&suite, &notice).await["signatures"]
        .as_array()
        .expect("signatures")
        .iter()
        .map(|one| text(one, "record_hash"))
        .collect();
    assert_eq!((names.len(), &names[1]), (3, &names[2]));
    let review = json!({"patient_id": patient, "decision": "not_needed", "reason": "Too late"});
    let reviews = format!("/v1/notices/{}/reviews", text(&notice, "id"));
    suite
        .practitioner
        .post(&reviews, &review)
        .await
        .problem(409, "notice-state");
    let scan = suite.scan(&suite.case().await, &cannula.of_lot("L1")).await;
    assert_eq!(scan["verdict"], "stop", "a closed notice goes on stopping");
    let mut wider = body("FSN-1b", "Lot L2");
    wider["follows_id"] = notice["id"].clone();
    let update = suite
        .materials
        .post("/v1/notices", &wider)
        .await
        .expect(201);
    confirm_as(
        &suite.materials,
        &update,
        &[criterion(&cannula, json!({"lots": ["L2"]}))],
    )
    .await;
    let shown = work(&suite, &notice).await;
    assert!(
        shown["tasks"]
            .as_array()
            .expect("tasks")
            .iter()
            .all(|task| task["state"] == "open")
    );
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}

// RPM ch. 7, from memory: "none on hand" is an answer and must be returned.
#[actix_web::test]
async fn none_on_hand_is_an_answer_too() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let notice = add(&suite, "FSN-1", "Lot L1").await;
    confirm_as(
        &suite.materials,
        &notice,
        &[criterion(&cannula, json!({"lots": ["L1"]}))],
    )
    .await;
    let answer = json!({"adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail"});
    let answered = step(&suite.materials, &notice, "answers", answer).await;
    assert_eq!(
        (
            &answered["said"]["none_on_hand"],
            &answered["said"]["none_received"]
        ),
        (&json!(true), &json!(true))
    );
}
