//! The recall desk's settings, letters to patients, disclosures, and adverse events.

use super::{matches, recall};
use crate::conformance::parcels::{File, own, second};
use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::pdf::shown;
use crate::harness::suite::Product;
use serde_json::{Value, json};

async fn settings(suite: &Suite) -> Value {
    suite.compliance.get("/v1/notice-policy").await.expect(200)
}

/// What a change of the settings takes, from what is shown.
fn changed(shown: &Value) -> Value {
    json!({"letters": shown["letters"], "targets": shown["targets"], "remind_hours": 24, "reason": "A test"})
}

/// A notice that reaches one patient, with the patient's id.
async fn reached(suite: &Suite, product: &Product) -> (Value, String, String) {
    let case = suite.case_of("MRN-77", "Example, Röbin").await;
    suite.scan(&case, &product.of_lot("L1")).await;
    let notice = recall(suite, "FSN-1", product, &["L1"]).await;
    let patient = text(&suite.show(&case).await, "patient_id");
    (notice, patient, case)
}

async fn decide(suite: &Suite, notice: &Value, patient: &str) {
    let path = format!("/v1/notices/{}/reviews", text(notice, "id"));
    let body = json!({"patient_id": patient, "decision": "notify", "reason": "As named"});
    suite.practitioner.post(&path, &body).await.expect(201);
}

#[actix_web::test]
async fn targets_by_class_are_the_sites_policy_and_each_change_is_on_record() {
    let suite = Suite::start().await;
    let shown = settings(&suite).await;
    assert_eq!(shown["targets"].as_array().map(Vec::len), Some(21));
    let mut change = changed(&shown);
    for target in change["targets"].as_array_mut().expect("targets") {
        if target["kind"] == "quarantine" && target["class"] == "II" {
            (target["after"], target["unit"]) = (json!(2), json!("hours"));
        }
    }
    let path = "/v1/notice-policy";
    let refused = suite.materials.put(path, version(&shown), &change).await;
    refused.problem(403, "forbidden");
    let new = suite.compliance.put(path, version(&shown), &change).await;
    assert_eq!(new.expect(200)["version"], 2);
    suite
        .compliance
        .put(path, 1, &change)
        .await
        .problem(412, "stale");
    let cannula = suite.cannula().await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let work = format!("/v1/notices/{}/work", text(&notice, "id"));
    let work = suite.compliance.get(&work).await.expect(200);
    let due: jiff::Timestamp = text(&work["tasks"][0], "due_at").parse().expect("a time");
    let confirmed: jiff::Timestamp = text(&notice["confirmed"], "at").parse().expect("a time");
    assert_eq!(due.duration_since(confirmed).as_hours(), 2);
    let entries = suite.service.entries(suite.service.site.facility).await;
    let entry = entries
        .iter()
        .find(|(_, body)| body.contains("\"change_notice_policy\""));
    let (_, entry) = entry.expect("an entry");
    assert!(
        entry.contains("\"new\":") && entry.contains("\"old\":"),
        "{entry}"
    );
}

#[actix_web::test]
async fn settings_name_each_fault_and_a_letter_with_an_unknown_field_is_refused() {
    let suite = Suite::start().await;
    let shown = settings(&suite).await;
    let mut change = changed(&shown);
    change["letters"]["en"] = json!("Dear {patient}");
    change["targets"][0]["after"] = json!(0);
    let refused = suite.compliance.put("/v1/notice-policy", 1, &change).await;
    let problem = refused.problem(400, "invalid");
    let errors = problem["errors"].as_array().expect("errors").iter();
    let pointers: Vec<String> = errors.map(|error| text(error, "pointer")).collect();
    assert_eq!(pointers, ["/letters/en", "/targets/0/after"]);
    assert!(text(&problem["errors"][0], "detail").contains("patient_name"));
}

#[actix_web::test]
async fn a_letter_is_written_in_both_languages_for_a_patient_who_is_to_be_told() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let (notice, patient, _) = reached(&suite, &cannula).await;
    let path = format!("/v1/notices/{}/letters/{patient}", text(&notice, "id"));
    let early = suite.practitioner.get(&path).await;
    early.problem(409, "work-open");
    suite.materials.get(&path).await.problem(403, "forbidden");
    decide(&suite, &notice, &patient).await;
    for (language, words) in [("en", "Record number MRN-77"), ("de", "Aktennummer MRN-77")] {
        let reply = suite
            .practitioner
            .get(&format!("{path}?language={language}"))
            .await;
        assert_eq!(reply.status, 200, "{}", reply.text());
        assert_eq!(reply.header("content-type"), Some("application/pdf"));
        assert_eq!(reply.header("cache-control"), Some("no-store"));
        let shown = shown(&reply.body);
        assert!(shown.contains(words), "{language}");
        assert!(shown.contains("L1"), "{language}");
    }
    let unknown = format!("{path}?language=fr");
    suite
        .practitioner
        .get(&unknown)
        .await
        .problem(400, "invalid");
    let work = format!("/v1/notices/{}/work", text(&notice, "id"));
    let work = suite.compliance.get(&work).await.expect(200);
    let letters = work["events"].as_array().expect("events").iter();
    let letters: Vec<&Value> = letters.filter(|event| event["kind"] == "letter").collect();
    assert_eq!(letters.len(), 2);
    let said = letters[0]["said"].to_string();
    assert!(!said.contains("MRN") && !said.contains("Example"), "{said}");
}

// 45 CFR 164.528(b)(2), from memory: the date, who received it and the address if known, a brief
// description, and the purpose.
#[actix_web::test]
async fn disclosures_are_accounted_for_by_notice_and_by_patient() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let (notice, patient, _) = reached(&suite, &cannula).await;
    let path = format!("/v1/notices/{}/disclosures", text(&notice, "id"));
    let mut body = json!({
        "patient_id": patient, "disclosed_on": "2026-03-10", "to": "Kim Example, a brother",
        "address": "1 Quay Street", "what": "Lot and day of the procedure",
        "purpose": "Report of a failure to its maker",
    });
    let done = suite.compliance.post(&path, &body).await.expect(201);
    assert_eq!(done["kind"], "disclosure");
    // A receiver may be a private person: neither the ledger nor the row has one in clear.
    let database = &suite.service.site.database;
    let kept =
        "SELECT encode(body, 'escape') FROM ledger_entries WHERE action = 'record_disclosure'
        UNION ALL SELECT body::text FROM notice_events WHERE kind = 'disclosure'
        UNION ALL SELECT encode(body, 'escape') FROM answers";
    for kept in database.column(kept).await {
        for value in [
            "Kim Example",
            "Quay Street",
            "Lot and day",
            "failure to its",
        ] {
            assert!(!kept.contains(value), "{value} stands in clear");
        }
    }
    body["disclosed_on"] = json!("2027-01-01");
    let future = suite.compliance.post(&path, &body).await;
    let problem = future.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/disclosed_on");
    let answer = json!({
        "adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail",
    });
    let answers = format!("/v1/notices/{}/answers", text(&notice, "id"));
    suite.materials.post(&answers, &answer).await.expect(201);
    let all = suite.compliance.get(&path).await.expect(200);
    let lines = all["items"].as_array().expect("items");
    assert_eq!(lines.len(), 2);
    assert_eq!(lines[0]["patient_id"], json!(patient));
    assert_eq!(lines[0]["purpose"], "Report of a failure to its maker");
    assert_eq!(lines[0]["to"], "Kim Example, a brother");
    assert!(lines[1].get("patient_id").is_none());
    assert_eq!(lines[1]["to"], "Invented Instruments, Inc.");
    let own = format!("/v1/patients/{patient}/disclosures");
    let own = suite.compliance.get(&own).await.expect(200);
    assert_eq!(own["items"], json!([lines[0]]));
}

#[actix_web::test]
async fn a_parcel_discloses_to_whom_something_was_disclosed_with_identity_alone() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let (notice, patient, _) = reached(&suite, &cannula).await;
    let path = format!("/v1/notices/{}/disclosures", text(&notice, "id"));
    let body = json!({
        "patient_id": patient, "disclosed_on": "2026-03-10", "to": "Kim Example, a brother",
        "what": "Lot and day of the procedure", "purpose": "Asked by the patient",
    });
    suite.compliance.post(&path, &body).await.expect(201);
    for with_identity in [false, true] {
        let ask = json!({"reason": "A test", "with_identity": with_identity});
        let parcel = suite.compliance.post("/v1/ledger/parcels", &ask).await;
        let download = text(&parcel.expect(201), "download");
        let fetched = suite.compliance.get(&download).await;
        assert_eq!(fetched.text().contains("Kim Example"), with_identity);
        let file = File::of(&fetched.body);
        for (status, report) in [own(&file), second(&file)] {
            assert_eq!((status, &report["valid"]), (0, &json!(true)), "{report}");
        }
    }
}

#[actix_web::test]
async fn a_linked_adverse_event_is_in_the_answer_to_the_firm() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let (notice, _, case) = reached(&suite, &cannula).await;
    let other = suite.case_of("MRN-78", "Other, Kim").await;
    let mut files = Vec::new();
    for case in [&case, &other] {
        let event = json!({
            "event": "malfunction", "happened_on": "2026-03-10", "aware_on": "2026-03-10",
            "deliberation": "No injury",
        });
        let path = format!("/v1/cases/{case}/events");
        files.push(suite.practitioner.post(&path, &event).await.expect(201));
    }
    let path = format!("/v1/notices/{}/adverse-events", text(&notice, "id"));
    let link = |file: &Value| json!({"event_id": file["id"]});
    suite
        .practitioner
        .post(&path, &link(&files[0]))
        .await
        .expect(201);
    let again = suite.practitioner.post(&path, &link(&files[0])).await;
    again.problem(409, "already-done");
    let not_reached = suite.practitioner.post(&path, &link(&files[1])).await;
    let problem = not_reached.problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/event_id");
    let answer = json!({
        "adverse_events": false, "contact_name": "M. Okafor", "contact_title": "Materials manager",
        "contact_phone": "+1 555 0100", "sent_by": "Form by mail",
    });
    let answers = format!("/v1/notices/{}/answers", text(&notice, "id"));
    let said = suite.materials.post(&answers, &answer).await.expect(201);
    assert_eq!(said["said"]["adverse_events"], true);
    assert_eq!(matches(&suite, &notice).await["counts"]["patients"], 1);
}
