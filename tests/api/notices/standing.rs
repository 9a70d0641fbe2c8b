//! Taking in, confirming, updating and ending.

use super::{add, body, confirm_as, criterion, matches, recall};
use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::suite::{findings, on_case};
use serde_json::json;

#[actix_web::test]
async fn a_notice_is_read_when_it_is_taken_in_and_stops_nothing_before_a_person_confirms_it() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    suite.receive(&cannula.of_lot("L1"), 5).await;
    let words = format!(
        "UDI-DI {}, Lots L1, L2; see the enclosed sheet",
        cannula.gtin
    );
    let notice = add(&suite, "FSN-1", &words).await;
    assert_eq!(notice["state"], "unconfirmed");
    let proposal = &notice["reading"]["proposals"][0];
    assert_eq!(proposal["lots"], json!(["L1", "L2"]));
    assert_eq!(proposal["identifiers"], json!([cannula.gtin]));
    // Each lot with the characters it came from.
    let span = proposal["spans"]
        .as_array()
        .and_then(|spans| spans.iter().find(|span| span["field"] == "lots"))
        .expect("a span of the lots");
    let (at, to) = (span["at"].as_u64(), span["to"].as_u64());
    let (at, to) = (at.expect("a place") as usize, to.expect("an end") as usize);
    assert_eq!(&words[at..to], "L1");
    assert!(
        !notice["reading"]["unread"]
            .as_array()
            .expect("a list")
            .is_empty()
    );
    let case = suite.case().await;
    let scan = suite.scan(&case, &cannula.of_lot("L1")).await;
    assert_eq!(scan["verdict"], "taken", "{scan}");
    let path = format!("/v1/notices/{}/matches", text(&notice, "id"));
    suite
        .compliance
        .get(&path)
        .await
        .problem(409, "notice-state");
}

#[actix_web::test]
async fn a_notice_that_comes_twice_is_recognised_however_it_is_written() {
    let suite = Suite::start().await;
    let first = add(&suite, "Z-0053-2026", "Lot L1").await;
    let id = text(&first, "id");
    // The very same text again; then another text under the same firm and number.
    let mut again = body("z 0053 2026", "Lot L1");
    again["firm"] = json!("INVENTED INSTRUMENTS INC");
    let same = suite.materials.post("/v1/notices", &again).await;
    let same = same.problem(409, "already-done");
    assert!(same["detail"].as_str().expect("a detail").contains(&id));
    again["text"] = json!("Lots L1, L2");
    let known = suite.materials.post("/v1/notices", &again).await;
    let known = known.problem(409, "taken");
    assert!(known["detail"].as_str().expect("a detail").contains(&id));
    // As an update it is taken in under the first.
    again["follows_id"] = json!(id);
    let update = suite.materials.post("/v1/notices", &again).await;
    let update = update.expect(201);
    assert_eq!(
        (&update["root_id"], &update["revision"]),
        (&json!(id), &json!(2))
    );
    again["text"] = json!("Lots L1, L2, L3");
    again["follows_id"] = json!(uuid::Uuid::new_v4());
    let nothing = suite.materials.post("/v1/notices", &again).await;
    let nothing = nothing.problem(400, "invalid");
    assert_eq!(nothing["errors"][0]["pointer"], "/follows_id");
    let listed = suite.circulator.get("/v1/notices").await.expect(200);
    assert_eq!(listed["items"].as_array().map(Vec::len), Some(2));
}

#[actix_web::test]
async fn an_update_widens_what_the_first_notice_names_and_takes_nothing_back() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let first = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let mut wider = body("FSN-1 extension", "Lot L2");
    wider["follows_id"] = first["id"].clone();
    wider["class"] = json!("I");
    let update = suite
        .materials
        .post("/v1/notices", &wider)
        .await
        .expect(201);
    let case = suite.case().await;
    let before = suite.scan(&case, &cannula.of_lot("L2")).await;
    assert!(on_case(&before), "{before}");
    let criteria = [criterion(&cannula, json!({"lots": ["L2"]}))];
    let confirmed = confirm_as(&suite.compliance, &update, &criteria).await;
    assert_eq!(confirmed["counts"]["affected"], 1);
    for lot in ["L1", "L2"] {
        let scan = suite.scan(&suite.case().await, &cannula.of_lot(lot)).await;
        assert!(findings(&scan).contains(&"recalled"), "{scan}");
    }
    let path = format!("/v1/notices/{}", text(&first, "id"));
    let shown = suite.circulator.get(&path).await.expect(200);
    let revisions = shown["revisions"].as_array().expect("revisions").iter();
    let classes: Vec<_> = revisions.map(|one| one["class"].clone()).collect();
    assert_eq!(classes, [json!("II"), json!("I")]);
    assert_eq!(shown["criteria"].as_array().map(Vec::len), Some(2));
}

#[actix_web::test]
async fn a_withdrawn_notice_stops_nothing_and_a_terminated_one_goes_on() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    let path = format!("/v1/notices/{}/end", text(&notice, "id"));
    let end = |end: &str| json!({"end": end, "reason": "Letter of 3 March filed"});
    // 21 CFR 7.55: the authority finds that the firm has done its part; the items stay what they are.
    let ended = suite.materials.change(&path, 2, &end("terminated")).await;
    assert_eq!(ended.expect(200)["state"], "open");
    let scan = suite.scan(&suite.case().await, &cannula.of_lot("L1")).await;
    assert_eq!(findings(&scan)[0], "recalled", "{scan}");
    suite
        .materials
        .change(&path, 3, &end("terminated"))
        .await
        .problem(409, "already-done");
    suite
        .materials
        .change(&path, 2, &end("withdrawn"))
        .await
        .problem(412, "stale");
    suite
        .materials
        .change(&path, 3, &end("withdrawn"))
        .await
        .expect(200);
    let scan = suite.scan(&suite.case().await, &cannula.of_lot("L1")).await;
    assert!(on_case(&scan), "{scan}");
}

#[actix_web::test]
async fn a_notice_is_confirmed_once_by_materials_or_compliance_with_criteria_that_fit() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let notice = add(&suite, "FSN-1", "Lot L1").await;
    let path = format!("/v1/notices/{}/confirm", text(&notice, "id"));
    let good =
        json!({"criteria": [criterion(&cannula, json!({"lots": ["L1"]}))], "settles_unread": true});
    for other in [&suite.circulator, &suite.practitioner] {
        other
            .change(&path, 1, &good)
            .await
            .problem(403, "forbidden");
    }
    let wrong = [
        (json!([]), "/criteria"),
        (json!([{"lots": ["L1"]}]), "/criteria/0"),
        (
            json!([{"identifiers": ["no code"]}]),
            "/criteria/0/identifiers/0",
        ),
        (
            json!([{"product_ids": [uuid::Uuid::new_v4()]}]),
            "/criteria/0/product_ids",
        ),
        (
            json!([{"identifiers": [cannula.gtin], "ranges": [{"of": "lot"}]}]),
            "/criteria/0/ranges/0",
        ),
        (
            json!([{"identifiers": [cannula.gtin], "expires_from": "2026-02-01", "expires_to": "2026-01-31"}]),
            "/criteria/0/expires_to",
        ),
    ];
    for (criteria, pointer) in wrong {
        let body = json!({"criteria": criteria, "settles_unread": true});
        let refused = suite.materials.change(&path, 1, &body).await;
        let refused = refused.problem(400, "invalid");
        assert_eq!(refused["errors"][0]["pointer"], pointer, "{refused}");
    }
    suite.materials.change(&path, 1, &good).await.expect(200);
    suite
        .materials
        .change(&path, 2, &good)
        .await
        .problem(409, "notice-state");
}

#[actix_web::test]
async fn the_ledger_holds_digests_and_numbers_of_a_notice_and_no_identity() {
    let suite = Suite::start().await;
    let cannula = suite.cannula().await;
    let case = suite.case_of("MRN-7781", "Sample, Kim").await;
    suite.scan(&case, &cannula.of_lot("L1")).await;
    suite.receive(&cannula.of_lot("L1"), 4).await;
    let notice = recall(&suite, "FSN-1", &cannula, &["L1"]).await;
    assert_eq!(
        (&notice["held"], &notice["counts"]["on_hand"]),
        (&json!(1), &json!(4))
    );
    let found = matches(&suite, &notice).await;
    assert_eq!(found["patients"][0]["patient"]["name"], "Sample, Kim");
    let entries = suite.service.entries(suite.service.site.facility).await;
    let mut about = Vec::new();
    for (_, body) in &entries {
        assert!(
            !body.contains("MRN-7781") && !body.contains("Sample"),
            "{body}"
        );
        let entry: serde_json::Value = serde_json::from_str(body).expect("JSON");
        if entry["subject"] == format!("notice:{}", text(&notice, "id")) {
            about.push(entry);
        }
    }
    let actions: Vec<_> = about.iter().map(|entry| text(entry, "action")).collect();
    assert_eq!(actions, ["add_notice", "confirm_notice", "list_matches"]);
    assert_eq!(about[1]["data"]["affected"], 1);
    assert_eq!(about[1]["data"]["cases"], json!([case]));
    assert_eq!(about[2]["data"]["cases"], json!([case]));
    crate::conformance::chain::holds(&suite.service, suite.service.site.facility).await;
}
