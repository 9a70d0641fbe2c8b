//! From a lot through mixes, fills and loads to patients, and from a case back to receipt.

use crate::harness::Suite;
use crate::harness::client::text;
use crate::harness::record::{
    cylinder, indicator, ingredient, load_body, order, received, reusable, sterilizer,
};
use lotwarden_domain::access::Role;
use serde_json::{Value, json};
use uuid::Uuid;

fn cases(answer: &Value) -> Vec<String> {
    let items = answer["items"].as_array().expect("items").iter();
    items.map(|item| text(item, "case_id")).collect()
}

async fn code_of(suite: &Suite, product: &str) -> String {
    let path = format!("/v1/products/{product}");
    let product = suite.circulator.get(&path).await.expect(200);
    text(&product["identifiers"][0], "code")
}

#[actix_web::test]
async fn a_mix_is_crossed_in_both_directions() {
    let suite = Suite::start().await;
    let case = suite.case_of("MRN-77", "Example, Robin").await;
    let mix = order(&suite, &case).await;
    let one = ingredient(&suite, &case, "drug", "5", json!([])).await;
    let body = json!({
        "started_at": suite.service.site.clock.reading().to_string(), "ingredients": [one],
    });
    let path = format!("/v1/mixes/{}/make", text(&mix, "id"));
    let made = suite.circulator.change(&path, 1, &body).await.expect(201);
    let part = &made["mix"]["ingredients"][0];
    let gtin = code_of(&suite, &text(part, "product_id")).await;
    let forward = suite.where_used(&format!("identifier={gtin}&lot=D1")).await;
    assert_eq!(forward["mixes"][0]["mix_id"], mix["id"]);
    assert_eq!(cases(&forward), std::slice::from_ref(&case));
    let by_mix = suite.where_used(&format!("mix={}", text(&mix, "id"))).await;
    assert_eq!(cases(&by_mix), std::slice::from_ref(&case));
    assert_eq!(by_mix["items"][0]["patient"]["record_number"], "MRN-77");
    assert_eq!(by_mix["mixes"][0]["lot_id"], part["lot_id"]);
    let path = format!("/v1/cases/{case}/sources");
    let sources = suite.circulator.get(&path).await.expect(200);
    assert_eq!(sources["mixes"][0]["lot_id"], part["lot_id"]);
    let receipts = sources["lots"][0]["receipts"].as_array();
    assert_eq!(receipts.map(Vec::len), Some(1));
}

#[actix_web::test]
async fn a_fill_of_gas_is_crossed_in_both_directions() {
    let suite = Suite::start().await;
    let fill = cylinder(&suite).await;
    let (first, second) = (suite.case().await, suite.case().await);
    for case in [&first, &second] {
        suite.scan(case, &fill.label).await;
        let path = format!("/v1/cylinders/{}/uses", fill.id);
        let gas =
            json!({"case_id": case, "zone": "Thigh", "litre_per_minute": "1", "minutes": "1"});
        suite.circulator.post(&path, &gas).await.expect(201);
    }
    let by_fill = suite.where_used(&format!("cylinder={}", fill.id)).await;
    assert_eq!(cases(&by_fill), [first.clone(), second]);
    let forward = suite
        .where_used(&format!("identifier={}", fill.label.gtin))
        .await;
    assert_eq!(forward["cylinders"][0]["cylinder_id"], *fill.id);
    let path = format!("/v1/cases/{first}/sources");
    let sources = suite.circulator.get(&path).await.expect(200);
    assert_eq!(sources["cylinders"][0]["cylinder_id"], *fill.id);
}

#[actix_web::test]
async fn a_load_is_crossed_in_both_directions_and_only_until_the_next_one() {
    let suite = Suite::start().await;
    let set = reusable(&suite, "Reusable cannula set", "cannula").await;
    let label = set.piece("R1", "S1");
    let (_, unit) = received(&suite, &label).await;
    let autoclave = sterilizer(&suite, "recall_suspect").await;
    let mut loads = Vec::new();
    let mut reached = Vec::new();
    for cycle in ["L1", "L2"] {
        let body = load_body(&suite, &autoclave, cycle, &[&unit]);
        let load = suite.materials.post("/v1/loads", &body).await.expect(201);
        indicator(&suite, &load, "mechanical", "good").await;
        let case = suite.case().await;
        suite.scan(&case, &label).await;
        loads.push(text(&load, "id"));
        reached.push(case);
    }
    for (load, case) in loads.iter().zip(&reached) {
        let answer = suite.where_used(&format!("load={load}")).await;
        assert_eq!(cases(&answer), std::slice::from_ref(case));
        let path = format!("/v1/cases/{case}/sources");
        let sources = suite.circulator.get(&path).await.expect(200);
        assert_eq!(sources["loads"][0]["load_id"], *load);
    }
    let forward = suite
        .where_used(&format!("identifier={}&serial=S1", set.gtin))
        .await;
    let through = forward["loads"].as_array().map(Vec::len);
    assert_eq!(through, Some(2));
}

#[actix_web::test]
async fn where_used_asks_for_one_thing_that_is_there_and_each_answer_is_an_entry() {
    let suite = Suite::start().await;
    let ask = async |query: &str| {
        let path = format!("/v1/where-used?{query}");
        suite.compliance.get(&path).await
    };
    ask("").await.problem(400, "invalid");
    let nothing = Uuid::new_v4();
    ask(&format!("mix={nothing}&load={nothing}"))
        .await
        .problem(400, "invalid");
    ask(&format!("load={nothing}&lot=A"))
        .await
        .problem(400, "invalid");
    for kind in ["mix", "load", "cylinder"] {
        ask(&format!("{kind}={nothing}"))
            .await
            .problem(404, "no-such-thing");
    }
    let fill = cylinder(&suite).await;
    let query = format!("cylinder={}", fill.id);
    ask(&query).await.expect(200);
    let entries = suite.service.entries(suite.service.site.facility).await;
    let about = entries
        .iter()
        .filter(|(_, body)| body.contains(&format!("cylinder:{}", fill.id)));
    let about: Vec<_> = about
        .filter(|(_, body)| body.contains("show_where_used"))
        .collect();
    assert_eq!(about.len(), 1);
    let other = suite.service.site.add_facility("South Hill").await;
    let stranger = suite.service.caller(other, &[Role::Compliance]).await;
    let reply = stranger.get(&format!("/v1/where-used?{query}")).await;
    reply.problem(404, "no-such-thing");
}
