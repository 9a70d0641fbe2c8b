//! Cases: opening, sequence, dispositions, signing, and the patient.

use crate::harness::Suite;
use crate::harness::client::{text, version};
use crate::harness::people::PASSWORD;
use crate::harness::suite::judged;
use lotwarden_domain::access::Role;
use serde_json::{Value, json};
use uuid::Uuid;

#[actix_web::test]
async fn an_open_case_shows_everything_but_the_patients_identity() {
    let suite = Suite::start().await;
    let body = suite.case_body("MRN-004217", "Delacroix-Owusu, Marguerite");
    let case = suite.circulator.post("/v1/cases", &body).await.expect(201);
    let shown = suite.show(&text(&case, "id")).await;
    let listed = suite.circulator.get("/v1/cases").await.expect(200);
    for answer in [&case, &shown, &listed] {
        let answer = answer.to_string();
        for part in ["Delacroix", "MRN-004217", "1984-02-29"] {
            assert!(
                !answer.contains(part),
                "{part} stands in an answer that shows no patient"
            );
        }
    }
    assert_eq!(shown["status"], "preparation");
    assert_eq!(shown["location"]["name"], "Procedure room 2");
    assert_eq!(
        shown["practitioner"]["id"],
        json!(suite.practitioner.person)
    );
    assert_eq!(listed["items"][0]["patient_id"], case["patient_id"]);
}

#[actix_web::test]
async fn showing_the_patient_is_an_entry_each_time() {
    let suite = Suite::start().await;
    let case = suite
        .case_of("MRN-004217", "Delacroix-Owusu, Marguerite")
        .await;
    let facility = suite.service.site.facility;
    let before = suite.service.entries(facility).await.len();
    for look in 1..=2 {
        let patient = suite
            .circulator
            .get(&format!("/v1/cases/{case}/patient"))
            .await;
        let shown = patient.expect(200);
        assert_eq!(shown["name"], "Delacroix-Owusu, Marguerite");
        assert_eq!(shown["record_number"], "MRN-004217");
        assert_eq!(shown["born_on"], "1984-02-29");
        assert_eq!(patient.header("cache-control"), Some("no-store"));
        let entries = suite.service.entries(facility).await;
        assert_eq!(entries.len(), before + look);
        let (_, entry) = entries.last().expect("an entry");
        assert!(entry.starts_with(r#"{"action":"show_patient""#), "{entry}");
        assert!(!entry.contains("Delacroix"));
    }
}

#[actix_web::test]
async fn one_record_number_is_one_patient_and_another_name_is_refused() {
    let suite = Suite::start().await;
    let open = |name: &str| {
        let body = suite.case_body("MRN-004217", name);
        let circulator = suite.circulator.clone();
        async move { circulator.post("/v1/cases", &body).await }
    };
    let first = open("Example, Robin").await.expect(201);
    let second = open("Example, Robin").await.expect(201);
    assert_eq!(first["patient_id"], second["patient_id"]);
    let differs = open("Delacroix-Owusu, Marguerite").await;
    let problem = differs.problem(409, "differs");
    for part in ["Example, Robin", "Delacroix", "MRN-004217"] {
        assert!(!problem.to_string().contains(part), "{problem}");
    }
}

#[actix_web::test]
async fn a_case_needs_a_place_and_a_practitioner_of_its_facility() {
    let suite = Suite::start().await;
    let mut body = suite.case_body("MRN-1", "Example, Robin");
    body["location_id"] = json!(Uuid::new_v4());
    let problem = suite
        .circulator
        .post("/v1/cases", &body)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/location_id");
    let mut body = suite.case_body("MRN-1", "Example, Robin");
    body["practitioner_id"] = json!(suite.circulator.person);
    let problem = suite
        .circulator
        .post("/v1/cases", &body)
        .await
        .problem(400, "invalid");
    assert_eq!(problem["errors"][0]["pointer"], "/practitioner_id");
    let patients = suite
        .service
        .site
        .database
        .column("SELECT count(*) FROM patients")
        .await;
    assert_eq!(patients, ["0"], "a refused case left a patient");
}

#[actix_web::test]
async fn a_case_goes_from_preparation_to_in_progress_to_completed_and_no_other_way() {
    // HL7 FHIR R5, EventStatus: preparation, in-progress, completed, not-done; the permitted
    // sequence is 21 CFR 11.10(f).
    let suite = Suite::start().await;
    let case = suite.case().await;
    let step = |verb: &'static str, version: i64, body: Value| {
        let (circulator, path) = (suite.circulator.clone(), format!("/v1/cases/{case}/{verb}"));
        async move { circulator.change(&path, version, &body).await }
    };
    step("complete", 1, json!({}))
        .await
        .problem(409, "case-closed");
    let started = step("start", 1, json!({})).await.expect(200);
    assert_eq!(started["status"], "in-progress");
    assert!(started["started_at"].is_string());
    step("start", version(&started), json!({}))
        .await
        .problem(409, "case-closed");
    step("cancel", version(&started), json!({"reason": "Too late"}))
        .await
        .problem(409, "case-closed");
    let completed = step("complete", version(&started), json!({}))
        .await
        .expect(200);
    assert_eq!(completed["status"], "completed");
    step("start", version(&completed), json!({}))
        .await
        .problem(409, "case-closed");
    step("complete", 1, json!({})).await.problem(412, "stale");
}

#[actix_web::test]
async fn dispositions_are_set_with_their_reason_and_counted() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("A"), 9).await;
    let case = suite.case().await;
    for disposition in ["used", "wasted", "opened_unused", "failed"] {
        let body = json!({"text": cannula.of_lot("A").text(), "another_piece": true});
        let scan = suite.scan_body(&case, &body).await;
        let set = suite.dispose(&case, &scan, disposition).await;
        assert_eq!(set["item"]["disposition"], disposition);
        assert_eq!(version(&set["item"]), 2);
    }
    let shown = suite.show(&case).await;
    assert_eq!(
        shown["counts"]["items"],
        json!({"used": 1, "wasted": 1, "opened_unused": 1, "failed": 1})
    );
}

#[actix_web::test]
async fn wasting_and_failing_need_a_reason() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("A")).await;
    let path = format!("/v1/cases/{case}/scans/{}/disposition", text(&scan, "id"));
    for disposition in ["wasted", "failed"] {
        let refused = suite
            .circulator
            .put(&path, 1, &json!({"disposition": disposition}))
            .await;
        let problem = refused.problem(400, "invalid");
        assert_eq!(problem["errors"][0]["pointer"], "/reason");
    }
    suite
        .circulator
        .put(&path, 1, &json!({"disposition": "opened_unused"}))
        .await
        .expect(200);
    suite
        .circulator
        .put(&path, 1, &json!({"disposition": "used"}))
        .await
        .problem(412, "stale");
}

#[actix_web::test]
async fn a_returned_piece_is_in_stock_and_may_be_taken_again() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    suite.receive(&piece, 1).await;
    let (first, second) = (suite.case().await, suite.case().await);
    let scan = suite.scan(&first, &piece).await;
    suite.dispose(&first, &scan, "returned").await;
    assert_eq!(suite.stock().await[0][2].as_deref(), Some("1"));
    judged(&suite.scan(&second, &piece).await, "taken", &[]);
    // Returned from the first case and used on the second, it cannot be used on the first again.
    let shown = suite
        .circulator
        .get(&format!("/v1/cases/{first}/scans/{}", text(&scan, "id")))
        .await
        .expect(200);
    let path = format!("/v1/cases/{first}/scans/{}/disposition", text(&scan, "id"));
    let again = suite
        .circulator
        .put(
            &path,
            version(&shown["item"]),
            &json!({"disposition": "used"}),
        )
        .await;
    again.problem(409, "not-on-shelf");
}

#[actix_web::test]
async fn a_wasted_single_use_piece_is_not_free_again() {
    let suite = Suite::start().await;
    let handpiece = suite.handpiece().await;
    let piece = handpiece.piece("L1", "SN-1");
    suite.receive(&piece, 1).await;
    let (first, second) = (suite.case().await, suite.case().await);
    let scan = suite.scan(&first, &piece).await;
    suite.dispose(&first, &scan, "wasted").await;
    judged(
        &suite.scan(&second, &piece).await,
        "stop",
        &["already_used"],
    );
}

/// A practitioner with a password of the test, signed in, and a completed case.
async fn to_be_signed(suite: &Suite) -> (crate::harness::Client, String, Value) {
    let facility = suite.service.site.facility;
    suite
        .service
        .add_person(facility, "p.moreau", &[Role::Practitioner])
        .await;
    let session = suite.service.sign_in("p.moreau").await.expect(201);
    let practitioner = suite
        .service
        .anybody()
        .with_token(&text(&session, "access_token"));
    let cannula = suite.cannula().await;
    let case = suite.case().await;
    suite.scan(&case, &cannula.of_lot("A")).await;
    suite.advance(&case, "start").await;
    suite.advance(&case, "complete").await;
    let shown = suite.show(&case).await;
    (practitioner, case, shown)
}

#[actix_web::test]
async fn a_signature_binds_name_time_meaning_and_the_hash_of_the_record() {
    // 21 CFR 11.50(a): printed name, date and time, meaning; 11.70: linked to the record.
    let suite = Suite::start().await;
    let (practitioner, case, shown) = to_be_signed(&suite).await;
    let body = json!({"meaning": "Procedure performed and record reviewed", "password": PASSWORD});
    let path = format!("/v1/cases/{case}/sign");
    let signed = practitioner
        .change(&path, version(&shown), &body)
        .await
        .expect(201);
    assert_eq!(signed["name"], "Test p.moreau");
    assert_eq!(signed["record_hash"], shown["record_hash"]);
    assert!(signed["signed_at"].is_string());
    let after = suite.show(&case).await;
    assert_eq!(after["signatures"][0]["id"], signed["id"]);
    assert_eq!(after["signatures"][0]["unchanged"], true);
    let (_, entry) = suite
        .service
        .entries(suite.service.site.facility)
        .await
        .pop()
        .expect("an entry");
    for part in [
        r#""action":"sign_case""#,
        "Procedure performed and record reviewed",
        &text(&shown, "record_hash"),
    ] {
        assert!(entry.contains(part), "{part} is not in {entry}");
    }
    assert!(!entry.contains("otters"));
}

#[actix_web::test]
async fn signing_asks_for_the_password_again() {
    // 21 CFR 11.200(a)(1): signing takes the identification components.
    let suite = Suite::start().await;
    let (practitioner, case, shown) = to_be_signed(&suite).await;
    let path = format!("/v1/cases/{case}/sign");
    let wrong = json!({"meaning": "Reviewed", "password": "three quiet otters 42"});
    practitioner
        .change(&path, version(&shown), &wrong)
        .await
        .problem(401, "wrong-credentials");
    let without = json!({"meaning": "Reviewed"});
    practitioner
        .change(&path, version(&shown), &without)
        .await
        .problem(400, "invalid");
    assert_eq!(suite.show(&case).await["signatures"], json!([]));
}

#[actix_web::test]
async fn a_signed_case_is_not_changed_any_more() {
    let suite = Suite::start().await;
    let (practitioner, case, shown) = to_be_signed(&suite).await;
    let body = json!({"meaning": "Reviewed", "password": PASSWORD});
    let path = format!("/v1/cases/{case}/sign");
    practitioner
        .change(&path, version(&shown), &body)
        .await
        .expect(201);
    let listed = suite
        .circulator
        .get(&format!("/v1/cases/{case}/scans"))
        .await
        .expect(200);
    let scan = &listed["items"][0];
    let strike = format!("/v1/cases/{case}/scans/{}/strike", text(scan, "id"));
    suite
        .circulator
        .post(&strike, &json!({"reason": "Too late"}))
        .await
        .problem(409, "case-signed");
    let dispose = format!("/v1/cases/{case}/scans/{}/disposition", text(scan, "id"));
    let change = json!({"disposition": "opened_unused"});
    suite
        .circulator
        .put(&dispose, version(&scan["item"]), &change)
        .await
        .problem(409, "case-signed");
    let again = practitioner
        .change(&path, version(&suite.show(&case).await), &body)
        .await;
    again.problem(409, "already-done");
}

#[actix_web::test]
async fn only_a_completed_case_of_the_version_that_was_read_is_signed() {
    let suite = Suite::start().await;
    let (practitioner, case, shown) = to_be_signed(&suite).await;
    let body = json!({"meaning": "Reviewed", "password": PASSWORD});
    let open = suite.case().await;
    let path = format!("/v1/cases/{open}/sign");
    practitioner
        .change(&path, 1, &body)
        .await
        .problem(409, "case-closed");
    let listed = suite
        .circulator
        .get(&format!("/v1/cases/{case}/scans"))
        .await
        .expect(200);
    suite
        .dispose(&case, &listed["items"][0], "opened_unused")
        .await;
    let path = format!("/v1/cases/{case}/sign");
    practitioner
        .change(&path, version(&shown), &body)
        .await
        .problem(412, "stale");
    assert_ne!(suite.show(&case).await["record_hash"], shown["record_hash"]);
}

#[actix_web::test]
async fn cases_are_found_by_state_room_and_local_day() {
    let setup = crate::harness::service::Setup {
        zone: "America/Los_Angeles",
        ..Default::default()
    };
    let suite = Suite::with(setup).await;
    let (one, _two) = (suite.case().await, suite.case().await);
    suite.advance(&one, "start").await;
    let count = async |query: &str| {
        let page = suite
            .circulator
            .get(&format!("/v1/cases?{query}"))
            .await
            .expect(200);
        page["items"].as_array().map_or(0, Vec::len)
    };
    assert_eq!(count("status=in-progress").await, 1);
    assert_eq!(count("status=preparation").await, 1);
    // Scheduled for 2026-03-11T08:30:00Z, which is 01:30 of the same day in Los Angeles.
    assert_eq!(count("day=2026-03-11").await, 2);
    assert_eq!(count("day=2026-03-10").await, 0);
    assert_eq!(count(&format!("location_id={}", suite.room)).await, 2);
    assert_eq!(count(&format!("location_id={}", suite.shelf)).await, 0);
    suite
        .circulator
        .get("/v1/cases?status=lost")
        .await
        .problem(400, "invalid");
}
