//! A patient's identity stands sealed in its own places and nowhere else.

use crate::harness::client::text;
use crate::harness::{Suite, log};
use serde_json::{Value, json};

/// Invented, and like nothing else in the tests; so long that no random id of a log line has it by chance.
const NAME: &str = "Quillfeather-Nakamura, Ottoline";
const RECORD: &str = "QX-77310496028-ZZ";
const BORN: &str = "1931-07-05";
/// What a person's eye would find again in any of them.
const TRACES: &[&str] = &[
    "quillfeather",
    "ottoline",
    "77310496028",
    "1931-07-05",
    "19310705",
];

fn holds_no_trace(what: &str, text: &str) {
    let text = text.to_lowercase();
    for trace in TRACES {
        assert!(!text.contains(trace), "{what} holds {trace}");
        let in_hex = super::chain::hex(trace.as_bytes());
        assert!(
            !text.contains(&in_hex),
            "{what} holds {trace} in hexadecimal"
        );
    }
}

fn body(suite: &Suite) -> Value {
    let mut body = suite.case_body(RECORD, NAME);
    body["patient"]["born_on"] = json!(BORN);
    body
}

/// Works with the patient in every way the API has, the wrong ones too, and gives every answer
/// that does not show the patient.
async fn worked_through(suite: &Suite) -> Vec<String> {
    let mut answers = Vec::new();
    let mut keep = |reply: crate::harness::Reply| {
        let answer = reply.text();
        answers.push(answer);
        reply
    };
    let cases = "/v1/cases";
    let case = text(
        &keep(suite.circulator.post(cases, &body(suite)).await).expect(201),
        "id",
    );
    let changed: [(&str, Value); 6] = [
        ("/patient/born_on", json!(NAME)),
        ("/patient/name", json!([NAME])),
        ("/patient/record_number", json!({"number": RECORD})),
        ("/location_id", json!(NAME)),
        ("/scheduled_for", json!(RECORD)),
        ("/patient", json!(NAME)),
    ];
    for (pointer, value) in changed {
        let mut wrong = body(suite);
        *wrong.pointer_mut(pointer).expect("a member") = value;
        assert_eq!(
            keep(suite.circulator.post(cases, &wrong).await).status,
            400,
            "{pointer}"
        );
    }
    let cut = body(suite).to_string();
    let request = suite
        .circulator
        .request(reqwest::Method::POST, cases)
        .fresh_key();
    let cut = request.body("application/json", cut[..cut.len() - 5].to_owned());
    assert_eq!(keep(cut.send().await).status, 400);
    let mut other = body(suite);
    other["patient"]["name"] = json!("Somebody, Else");
    assert_eq!(keep(suite.circulator.post(cases, &other).await).status, 409);

    let scans = format!("/v1/cases/{case}/scans");
    let wristband = format!("{RECORD}*{}*19310705", NAME.to_uppercase());
    keep(
        suite
            .circulator
            .post(&scans, &json!({"text": wristband}))
            .await,
    )
    .expect(201);
    let as_station = json!({"text": "x", "station_id": NAME});
    assert_eq!(
        keep(suite.circulator.post(&scans, &as_station).await).status,
        400
    );
    let cannula = suite.cannula().await;
    keep(
        suite
            .circulator
            .post(&scans, &json!({"text": cannula.of_lot("A").text()}))
            .await,
    )
    .expect(201);
    keep(suite.circulator.get(&scans).await).expect(200);
    keep(suite.circulator.get(&format!("/v1/cases/{case}")).await).expect(200);
    keep(suite.circulator.get(cases).await).expect(200);
    keep(suite.compliance.get("/v1/ledger/entries?limit=200").await).expect(200);
    keep(suite.service.anybody().get("/metrics").await);
    let parcel = suite
        .compliance
        .post("/v1/ledger/parcels", &json!({"reason": "A test"}))
        .await
        .expect(201);
    keep(suite.compliance.get(&text(&parcel, "download")).await);

    // These show the patient, so only what they leave behind counts.
    let shown = suite
        .circulator
        .get(&format!("/v1/cases/{case}/patient"))
        .await
        .expect(200);
    assert_eq!(shown["name"], NAME);
    let used = suite
        .where_used(&format!("identifier={}&lot=A", cannula.gtin))
        .await;
    assert_eq!(used["items"][0]["patient"]["name"], NAME);
    let identity = json!({"reason": "A test", "with_identity": true});
    let parcel = suite
        .compliance
        .post("/v1/ledger/parcels", &identity)
        .await
        .expect(201);
    assert!(
        suite
            .compliance
            .get(&text(&parcel, "download"))
            .await
            .text()
            .contains(NAME)
    );
    answers
}

#[actix_web::test]
async fn a_patients_identity_is_in_no_answer_entry_row_or_log_line() {
    let suite = Suite::start().await;
    for answer in worked_through(&suite).await {
        holds_no_trace("an answer that shows no patient", &answer);
    }
    for (_, entry) in suite.service.entries(suite.service.site.facility).await {
        holds_no_trace("a ledger entry", &entry);
    }
    let database = &suite.service.site.database;
    let tables = database
        .column("SELECT table_name FROM information_schema.tables WHERE table_schema = 'public'")
        .await;
    assert!(tables.len() > 20);
    for table in tables {
        // Rows as text: bytea comes in hexadecimal.
        for row in database
            .column(&format!("SELECT t::text FROM {table} t"))
            .await
        {
            holds_no_trace(&format!("the table {table}"), &row);
        }
    }
    let log = log::lines();
    assert!(
        log.contains("\"route\":\"/v1/cases\""),
        "no log line was kept"
    );
    holds_no_trace("a log line", &log);
}

#[actix_web::test]
async fn patients_with_one_record_number_are_found_without_storing_it_in_clear() {
    let suite = Suite::start().await;
    suite
        .circulator
        .post("/v1/cases", &body(&suite))
        .await
        .expect(201);
    suite
        .circulator
        .post("/v1/cases", &body(&suite))
        .await
        .expect(201);
    let database = &suite.service.site.database;
    assert_eq!(
        database.column("SELECT count(*) FROM patients").await,
        ["1"]
    );
    let lookup = &database
        .column("SELECT encode(lookup, 'hex') FROM patients")
        .await[0];
    // A plain digest of a record number could be guessed; the look-up is keyed.
    let digest = <sha2::Sha256 as sha2::Digest>::digest(RECORD);
    assert_ne!(*lookup, super::chain::hex(&digest));
}
