//! A notice is matched through mixes, fills of gas and sterile loads.

use super::{add, classes, confirm_as, matches};
use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::record::{
    cylinder, indicator, ingredient, load_body, order, received, reusable, sterilizer,
};
use serde_json::{Value, json};

async fn recall_of(suite: &Suite, reference: &str, product: &Value, named: Value) -> Value {
    let notice = add(suite, reference, "As named").await;
    let mut criterion = named;
    criterion["product_ids"] = json!([product]);
    confirm_as(&suite.materials, &notice, &[criterion]).await
}

#[actix_web::test]
async fn a_lot_in_a_mix_reaches_its_patient_also_when_its_scan_was_taken_back() {
    let suite = Suite::start().await;
    let case = suite.case_of("MRN-77", "Example, Robin").await;
    let mix = order(&suite, &case).await;
    let one = ingredient(&suite, &case, "drug", "5", json!([])).await;
    let started_at = suite.service.site.clock.reading().to_string();
    let body = json!({"started_at": started_at, "ingredients": [one]});
    let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
    let made = suite.circulator.change(&path, 1, &body).await.expect(201);
    let part = &made["mix"]["ingredients"][0];
    let notice = recall_of(
        &suite,
        "FSN-1",
        &part["product_id"],
        json!({"lots": ["D1"]}),
    )
    .await;
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected"]);
    assert_eq!(found["items"][0]["witness"], "scan");
    assert_eq!(found["items"][0]["through_ids"], json!([mix["id"]]));
    assert_eq!(found["mixes"][0]["mix_id"], mix["id"]);
    assert_eq!(found["mixes"][0]["case_id"], case);
    suite.strike(&case, &text(&one, "scan_id")).await;
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["cannot_exclude"]);
    let item = &found["items"][0];
    assert_eq!(
        (&item["witness"], item.get("scan_id")),
        (&json!("mix"), None)
    );
    assert_eq!(item["through_ids"], json!([mix["id"]]));
    let patient = &found["patients"][0]["patient"];
    assert_eq!(
        (&patient["record_number"], &found["struck"]),
        (&json!("MRN-77"), &json!(0))
    );
}

#[actix_web::test]
async fn a_fill_of_gas_reaches_the_cases_it_served() {
    let suite = Suite::start().await;
    let fill = cylinder(&suite).await;
    let (first, second) = (suite.case().await, suite.case().await);
    let mut scans = Vec::new();
    for case in [&first, &second] {
        scans.push(suite.scan(case, &fill.label).await);
        let path = format!("/v1/cylinders/{}/uses", fill.id);
        let gas =
            json!({"case_id": case, "zone": "Thigh", "litre_per_minute": "1", "minutes": "1"});
        suite.circulator.post(&path, &gas).await.expect(201);
    }
    suite.strike(&second, &text(&scans[1], "id")).await;
    let notice = recall_of(
        &suite,
        "FSN-1",
        &scans[0]["product"]["id"],
        json!({"lots": ["F26-01"]}),
    )
    .await;
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "cannot_exclude"]);
    let items = found["items"].as_array().expect("items");
    for (item, (case, witness)) in items.iter().zip([(&first, "scan"), (&second, "gas")]) {
        assert_eq!(
            (&item["case_id"], &item["witness"]),
            (&json!(case), &json!(witness))
        );
        assert_eq!(item["through_ids"], json!([fill.id]));
    }
    assert_eq!(found["cylinders"][0]["cylinder_id"], *fill.id);
    assert_eq!(found["counts"]["cases"], 2);
}

#[actix_web::test]
async fn a_piece_shows_its_load_and_an_immediate_use_cycle_reaches_its_case_without_a_scan() {
    let suite = Suite::start().await;
    let set = reusable(&suite, "Reusable cannula set", "cannula").await;
    let label = set.piece("R1", "S1");
    let (_, unit) = received(&suite, &label).await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let body = load_body(&suite, &autoclave, "L1", &[&unit]);
    let load = suite.materials.post("/v1/loads", &body).await.expect(201);
    indicator(&suite, &load, "mechanical", "good").await;
    let case = suite.case().await;
    let scan = suite.scan(&case, &label).await;
    let unscanned = suite.case().await;
    let mut body = load_body(&suite, &autoclave, "L2", &[&unit]);
    body["kind"] = json!("immediate_use");
    body["case_id"] = json!(unscanned);
    body["reason"] = json!("The set was dropped");
    let second = suite.materials.post("/v1/loads", &body).await.expect(201);
    let notice = recall_of(
        &suite,
        "FSN-1",
        &scan["product"]["id"],
        json!({"serials": ["S1"]}),
    )
    .await;
    let found = matches(&suite, &notice).await;
    assert_eq!(classes(&found), ["affected", "cannot_exclude"]);
    assert_eq!(found["items"][0]["through_ids"], json!([load["id"]]));
    assert_eq!(found["items"][1]["through_ids"], json!([second["id"]]));
    assert_eq!(found["items"][1]["witness"], "load");
    assert_eq!(found["items"][1]["case_id"], unscanned);
    let loads: Vec<&Value> = found["loads"].as_array().expect("loads").iter().collect();
    assert_eq!(loads.len(), 2);
}
